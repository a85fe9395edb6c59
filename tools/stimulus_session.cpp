#include "tools/stimulus_session.h"

#include <algorithm>

#include "schemas/capture/recording_lock.h"
#include "tools/exchange/decimal_seconds.h"

namespace foundling {
namespace {

constexpr std::int64_t day_ns = 86'400'000'000'000;

Error usage(std::string message) { return {ErrorCode::usage, std::move(message)}; }

std::string seconds_text(std::int64_t ns) {
  std::string text;
  append_seconds(text, ns);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

}  // namespace

Result<SessionRow> stimulus_session(CaptureReader& reader, const std::filesystem::path& capture,
                                    std::optional<std::int64_t> wanted) {
  if (wanted) return reader.session(wanted);
  auto all = reader.sessions();
  if (!all) return all.error();
  if (!all->empty()) return all->back();
  return Error{ErrorCode::not_found, capture.string() + ": no session in this capture"};
}

Result<std::int64_t> recording_now_ns(const SessionRow& session,
                                      const std::filesystem::path& capture,
                                      std::int64_t boottime_ns) {
  const auto now = session_now_ns(session, boottime_ns);
  if (!now) return usage(capture.string() + ": " + now.error().message);
  if (!RecordingLock::is_held(capture)) {
    return usage(
        capture.string() +
        ": nobody is recording into this capture now; start foundlingd, then the same again");
  }
  return *now;
}

Result<std::int64_t> typed_seconds(const std::string& text, const char* option) {
  const auto seconds = parse_seconds(text);
  if (seconds) return seconds->ns;
  return usage(std::string(option) + ": expected seconds like 12.5, found \"" + text + '"');
}

SessionTimes session_times(const SessionRow& session, const std::filesystem::path& capture) {
  SessionTimes times;
  times.session = session.id;
  if (session.frames > 0) times.from_ns = std::min<std::int64_t>(0, session.first_ns);
  if (session.ended) {
    times.to_ns = std::max(session.ended_ns, session.last_ns);
  } else if (const auto now = recording_now_ns(session, capture)) {
    times.to_ns = *now;
  } else if (session.frames > 0) {
    times.to_ns = session.last_ns;  // its recorder was killed
  }
  return times;
}

std::string SessionTimes::fault_of(std::int64_t t_ns, ChannelKind kind) const {
  const std::int64_t earliest = kind == ChannelKind::hold ? from_ns - day_ns : from_ns;
  if (t_ns >= earliest && (!to_ns || t_ns <= *to_ns)) return {};
  return seconds_text(t_ns) + " s lies outside session " + std::to_string(session) + ", " +
         seconds_text(from_ns) + (to_ns ? " to " + seconds_text(*to_ns) + " s" : " s and later");
}

}  // namespace foundling
