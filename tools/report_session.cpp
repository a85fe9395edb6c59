#include "tools/report_session.h"

#include <algorithm>
#include <array>
#include <ctime>
#include <filesystem>
#include <utility>

#include "decoder/report/proposals_fit.h"
#include "schemas/capture/capture_reader.h"
#include "tools/recorded_session.h"

namespace foundling {
namespace {

std::string date_text(std::int64_t utc_ns) {
  if (utc_ns == 0) return {};
  const std::time_t at = utc_ns / 1'000'000'000;
  std::tm parts{};
  std::array<char, 32> text{};
  if (gmtime_r(&at, &parts) == nullptr ||
      std::strftime(text.data(), text.size(), "%Y-%m-%d %H:%M UTC", &parts) == 0) {
    return {};
  }
  return text.data();
}

PageSource source_of(const std::string& capture, const SessionRow& session) {
  PageSource source;
  source.capture = std::filesystem::path(capture).filename().string();
  source.session = session.id;
  source.started = date_text(session.info.started_utc_ns);
  source.pack = session.info.pack;
  source.board = session.info.board;
  source.note = session.info.note;
  source.interface = session.info.interface;
  source.bit_rate = session.info.bit_rate;
  source.from_ns = session.first_ns;
  source.to_ns = session.last_ns;
  source.ended = session.ended;
  return source;
}

// The page's plots span the frames; the row in the session table may be behind a running recorder.
void span_frames(ReportSession& session) {
  for (const MessageSeries& message : session.data.messages) {
    if (message.t_ns.empty()) continue;
    session.source.from_ns = std::min(session.source.from_ns, message.t_ns.front());
    session.source.to_ns = std::max(session.source.to_ns, message.t_ns.back());
  }
}

}  // namespace

SearchedSession ReportSession::searched() const {
  return searched_session(source.capture, source.session, data.messages, data.channels);
}

Result<ReportSession> load_report_session(const std::string& capture,
                                          std::optional<std::int64_t> wanted) {
  auto reader = CaptureReader::open(capture);
  if (!reader) return reader.error();
  auto loaded = load_session(*reader, capture, wanted);
  if (!loaded) return loaded.error();
  const auto events = reader->events(loaded->row.id);
  if (!events) return events.error();
  ReportSession out{std::move(loaded->data),
                    source_of(capture, loaded->row),
                    {},
                    {},
                    std::move(loaded->left_out)};
  span_frames(out);
  for (const Gap& gap : loaded->gaps) {
    out.lost.push_back({gap.from_ns, gap.to_ns, gap.bus, gap.frames_lost, gap.why});
  }
  for (const BusEvent& event : *events) {
    out.incidents.push_back({event.t_ns, event.bus, event.kind, event.detail});
  }
  return out;
}

}  // namespace foundling
