// The values of one signal over a session, in columns, and the plateaus of a channel that holds.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/values/reading.h"

namespace foundling {

struct Track {
  std::vector<std::int64_t> t_ns;  // in order of time
  std::vector<double> number;      // of a numeric signal
  std::vector<std::string> word;   // of a state signal
};

struct Plateau {  // a stretch in which the channel did not change
  std::int64_t from_ns = 0;
  std::int64_t to_ns = 0;
  double value = 0;
  double uncertainty = 0;  // standard; 0 where it is not known
  std::string state;
  std::int64_t earliest_ns = Reading::no_time;  // of its reading
  std::int64_t reading = 0;                     // its row in the capture
};

[[nodiscard]] std::vector<Plateau> plateaus(const ChannelSeries& channel, std::int64_t end_ns);

struct Rows {  // of a track
  std::size_t first = 0;
  std::size_t last = 0;  // behind the last
  [[nodiscard]] std::size_t size() const { return last - first; }
};
[[nodiscard]] Rows rows_between(const Track& track, std::int64_t from_ns, std::int64_t to_ns);

[[nodiscard]] double median(std::vector<double> values);  // 0 of none

// Mean of the middle half: it averages quantisation away, yet a reading written down somewhat late
// does not pull it.
[[nodiscard]] double middle_mean(std::span<const double> values);

[[nodiscard]] double period_s(const Track& track);  // median time between values

// Straight line of y over x by least squares: its slope; NaN where x does not vary.
[[nodiscard]] double slope(std::span<const double> x, std::span<const double> y);

}  // namespace foundling
