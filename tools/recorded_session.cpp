#include "tools/recorded_session.h"

#include <utility>

#include "schemas/capture/capture_reader.h"
#include "tools/exchange/far_readings.h"

namespace foundling {

Result<LoadedSession> load_session(CaptureReader& reader, const std::string& capture,
                                   std::optional<std::int64_t> wanted) {
  const auto session = reader.session(wanted);
  if (!session) return session.error();
  auto data = reader.load(session->id);
  if (!data) return data.error();
  if (data->messages.empty()) {
    return Error{ErrorCode::not_found,
                 capture + ": session " + std::to_string(session->id) + " has no data frames"};
  }
  auto gaps = reader.gaps(session->id);
  if (!gaps) return gaps.error();
  std::vector<std::string> left_out =
      leave_out_far_readings(data->channels, {session->first_ns, session->last_ns});
  return LoadedSession{*session, std::move(*data), std::move(*gaps), std::move(left_out)};
}

Result<RecordedSession> load_recorded_session(const std::string& capture,
                                              std::optional<std::int64_t> wanted) {
  auto reader = CaptureReader::open(capture);
  if (!reader) return reader.error();
  auto loaded = load_session(*reader, capture, wanted);
  if (!loaded) return loaded.error();
  RecordedSession result{std::move(loaded->data), std::move(loaded->left_out)};
  std::uint64_t lost = 0;
  for (const Gap& gap : loaded->gaps) lost += gap.frames_lost;
  if (!loaded->gaps.empty()) {
    result.warnings.push_back("the recording has " + std::to_string(loaded->gaps.size()) +
                              (loaded->gaps.size() == 1 ? " gap" : " gaps") + ", " +
                              std::to_string(lost) + " frames are known to be lost");
  }
  if (!loaded->row.ended) {
    result.warnings.emplace_back(
        "the session has no end: it is still being recorded, or the recorder was cut off");
  }
  return result;
}

double duration_s(const SessionRow& session) {
  return static_cast<double>(session.last_ns - session.first_ns) / 1e9;
}

}  // namespace foundling
