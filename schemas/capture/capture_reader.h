// Reads a capture file, also while another process records into it. Never writes: an older version
// is read as it is, and what it cannot hold is empty. Refuses what is not a capture, or made by a
// newer version; answers a damaged file with an error that names the table.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <limits>
#include <memory>
#include <optional>
#include <vector>

#include "schemas/capture/rows.h"
#include "schemas/values/result.h"

namespace foundling {

inline constexpr std::int64_t time_from_start = std::numeric_limits<std::int64_t>::min();
inline constexpr std::int64_t time_to_end = std::numeric_limits<std::int64_t>::max();

class CaptureReader {
 public:
  static Result<CaptureReader> open(const std::filesystem::path& path);
  CaptureReader(CaptureReader&&) noexcept;
  CaptureReader& operator=(CaptureReader&&) noexcept;
  ~CaptureReader();

  Result<std::vector<SessionRow>> sessions();
  // The wanted session, or the last one with frames. What every command with --session takes.
  Result<SessionRow> session(std::optional<std::int64_t> wanted);

  // All data frames in columns (16 bytes a frame of 8 bytes) and the valid readings.
  Result<SessionData> load(std::int64_t session);

  // Streams frames, remote ones included, in stored order, from_ns <= t_ns <= to_ns, until `visit`
  // says false.
  Result<void> for_each_frame(std::int64_t session, std::int64_t from_ns, std::int64_t to_ns,
                              const std::function<bool(const Frame&)>& visit);
  // Frames stored after the given row (0: all), for following a running session. The last row
  // seen, to go on from.
  Result<std::int64_t> frames_after(std::int64_t session, std::int64_t row,
                                    const std::function<bool(const Frame&)>& visit);

  Result<std::vector<Channel>> channels();
  Result<std::vector<StoredReading>> readings(std::int64_t session);  // superseded ones included
  Result<std::vector<ChannelSeries>> channel_series(std::int64_t session);
  Result<std::vector<StoredMark>> marks(std::int64_t session);  // superseded ones included
  // The last row of each instrument, by name.
  Result<std::vector<InstrumentState>> instruments(std::int64_t session);
  Result<std::vector<BusEvent>> events(std::int64_t session);  // in order of time
  Result<std::vector<Gap>> gaps(std::int64_t session);
  Result<std::vector<ClockMark>> clock_marks(std::int64_t session);
  Result<std::vector<Health>> health(std::int64_t session);
  Result<std::optional<Health>> last_health(std::int64_t session);

 private:
  struct State;
  explicit CaptureReader(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace foundling
