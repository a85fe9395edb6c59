#include "tools/recorded_session.h"

#include "schemas/capture/capture_reader.h"

namespace foundling {

Result<RecordedSession> load_recorded_session(const std::string& capture,
                                              std::optional<std::int64_t> wanted) {
  auto reader = CaptureReader::open(capture);
  if (!reader) return reader.error();
  const auto session = reader->session(wanted);
  if (!session) return session.error();
  auto data = reader->load(session->id);
  if (!data) return data.error();
  if (data->messages.empty()) {
    return Error{ErrorCode::not_found,
                 capture + ": session " + std::to_string(session->id) + " has no data frames"};
  }
  const auto gaps = reader->gaps(session->id);
  if (!gaps) return gaps.error();
  RecordedSession result{std::move(*data), {}};
  std::uint64_t lost = 0;
  for (const Gap& gap : *gaps) lost += gap.frames_lost;
  if (!gaps->empty()) {
    result.warnings.push_back("the recording has " + std::to_string(gaps->size()) +
                              (gaps->size() == 1 ? " gap" : " gaps") + ", " + std::to_string(lost) +
                              " frames are known to be lost");
  }
  if (!session->ended) {
    result.warnings.emplace_back(
        "the session has no end: it is still being recorded, or the recorder was cut off");
  }
  return result;
}

double duration_s(const SessionRow& session) {
  return static_cast<double>(session.last_ns - session.first_ns) / 1e9;
}

}  // namespace foundling
