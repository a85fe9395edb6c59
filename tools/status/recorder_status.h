// How a recording is doing, as its capture tells: for a person and for scripts.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "decoder/report/paragraph.h"
#include "schemas/capture/rows.h"
#include "schemas/values/result.h"

namespace foundling {

struct StatusLimits {
  double silent_after_s = 10;   // no frame for so long is a finding
  double losses_within_s = 60;  // losses older than this are told, but are no finding
  double least_hours_left = 1;  // less room on the disk than for so long is a finding
};

struct BusStatus {
  int bus = 0;
  double frames_per_s = 0;
  std::optional<double> load;  // share of the bus's time, 0..1, without stuff bits; FD left out
};

struct InstrumentStatus {
  InstrumentState last;  // its last row
  double age_s = 0;      // of that row
};

struct RecorderStatus {
  std::string file;  // the capture's path; where it is rolled over, that of the present file
  std::int64_t session = 0;
  bool recording = false;  // a recorder holds the capture
  std::uint64_t frames = 0;
  std::vector<BusStatus> buses;              // over the last ten seconds at most
  std::optional<double> last_frame_age_s;    // none: no frame yet, or not of this boot
  std::optional<double> last_written_age_s;  // of the recorder's last health row
  std::uint64_t frames_lost = 0;
  std::size_t gaps = 0;
  std::optional<Gap> last_gap;
  std::optional<double> last_gap_age_s;
  std::vector<InstrumentStatus> instruments;
  std::uint64_t queued = 0;
  double longest_commit_s = 0;
  std::uint64_t file_bytes = 0;  // with the write-ahead log
  std::uint64_t disk_left_bytes = 0;
  std::optional<double> seconds_to_full;  // at the present rate; none: nothing comes in

  [[nodiscard]] double frames_per_s() const;
};

[[nodiscard]] Result<RecorderStatus> recorder_status(const std::string& capture);

// What a person should look at; empty: all is well. Pure.
[[nodiscard]] std::vector<std::string> troubles(const RecorderStatus& status,
                                                const StatusLimits& limits);
[[nodiscard]] std::string status_text(const RecorderStatus& status,
                                      const std::vector<std::string>& troubles,
                                      std::size_t width = line_width);
[[nodiscard]] std::string status_json(const RecorderStatus& status,
                                      const std::vector<std::string>& troubles);

}  // namespace foundling
