// Which session of a capture a reading belongs to, and whether a time lies in it.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/session_clock.h"
#include "schemas/values/reading.h"
#include "schemas/values/result.h"

namespace foundling {

// The wanted one, or the last: frames or not, since the bus may be silent yet.
Result<SessionRow> stimulus_session(CaptureReader& reader, const std::filesystem::path& capture,
                                    std::optional<std::int64_t> wanted);

// Now, or that moment, on the session's time line. An error unless a recorder is at work on it.
Result<std::int64_t> recording_now_ns(const SessionRow& session,
                                      const std::filesystem::path& capture,
                                      std::int64_t boottime_ns = boottime_now_ns());

// Seconds as typed after `option`.
Result<std::int64_t> typed_seconds(const std::string& text, const char* option);

// From when to when a session's readings may lie. A reading of a hold channel may have been true
// since before the recording began, up to a day.
struct SessionTimes {
  std::int64_t from_ns = 0;
  std::optional<std::int64_t> to_ns;  // none: nobody knows when it ended

  // "lies outside session 1, 0 to 152.3 s"; empty when it does not.
  [[nodiscard]] std::string fault_of(std::int64_t t_ns, ChannelKind kind) const;
  std::int64_t session = 0;
};
[[nodiscard]] SessionTimes session_times(const SessionRow& session,
                                         const std::filesystem::path& capture);

}  // namespace foundling
