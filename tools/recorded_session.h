// One session of a capture, loaded for an analysis, and what a person must know before trusting
// what is found in it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "schemas/capture/rows.h"
#include "schemas/values/result.h"

namespace foundling {

class CaptureReader;

struct LoadedSession {
  SessionRow row;
  SessionData data;
  std::vector<Gap> gaps;
  std::vector<std::string> left_out;  // readings that cannot be of this session; taken out of data
};

// Session `wanted` of an open capture, or the last one with frames. A session without data frames
// is an error.
[[nodiscard]] Result<LoadedSession> load_session(CaptureReader& reader, const std::string& capture,
                                                 std::optional<std::int64_t> wanted);

struct RecordedSession {
  SessionData data;
  std::vector<std::string> warnings;  // frames lost, a session that is still being recorded
};

// The same from the capture's name.
[[nodiscard]] Result<RecordedSession> load_recorded_session(const std::string& capture,
                                                            std::optional<std::int64_t> wanted);

[[nodiscard]] double duration_s(const SessionRow& session);  // first frame to last

}  // namespace foundling
