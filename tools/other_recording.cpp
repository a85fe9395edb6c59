#include "tools/other_recording.h"

#include <filesystem>
#include <utility>

#include "tools/recorded_session.h"

namespace foundling {
namespace {

Recorded recorded(const SessionData& data, const Survey& found) {
  const SessionInfo& info = data.session.info;
  return {&found,           data.messages, info.started_utc_ns,
          data.fd_messages, info.bit_rate, info.data_bit_rate};
}

}  // namespace

Result<Compared> compare_with(const FirstRecording& first, const std::string& other,
                              std::optional<std::int64_t> wanted) {
  auto second = load_recorded_session(other, wanted);
  if (!second) return second.error();
  const SessionRow& session = second->data.session;
  std::error_code ignored;
  if (first.data.session.id == session.id &&
      std::filesystem::equivalent(first.capture, other, ignored)) {
    return Error{ErrorCode::usage, other + ": session " + std::to_string(session.id) +
                                       " is the same recording as the first; choose another with "
                                       "--against-session"};
  }
  const Survey found = survey(second->data.messages);
  Compared compared;
  compared.result = against(recorded(first.data, first.found), recorded(second->data, found));
  compared.source = {std::filesystem::path(other).filename().string(), session.id,
                     session.info.bit_rate, duration_s(session)};
  compared.warnings = std::move(second->warnings);
  return compared;
}

}  // namespace foundling
