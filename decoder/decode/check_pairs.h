// Pairs of what the bench had and what the signal said, by the kind of channel; the figures of a
// check are made from them. Used by check.cpp.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "decoder/decode/track.h"
#include "schemas/signals/signal_map.h"
#include "schemas/values/reading.h"

namespace foundling {

struct Pairs {
  std::vector<double> bench;
  std::vector<double> signal;
  std::vector<double> uncertainty;
  std::vector<std::int64_t> t_ns;     // of the reading
  std::vector<std::int64_t> reading;  // its row in the capture
  std::vector<std::string> shown;     // of a state: the word that the plateau shows most
  std::size_t possible = 0;           // plateaus or readings that the channel had
  double delay_s = 0;
};

[[nodiscard]] Pairs pair_plateaus(const SignalEntry& entry, const Track& track,
                                  const ChannelSeries& channel);
[[nodiscard]] Pairs pair_samples(const SignalEntry& entry, const Track& track,
                                 const ChannelSeries& channel);

// bench holds 0, signal 0 where the plateau's most frequent word is the channel's, else 1.
[[nodiscard]] Pairs pair_states(const SignalEntry& entry, const Track& track,
                                const ChannelSeries& channel);

// The stretch of each plateau in which its value was applied for sure and the signal has settled.
// What is typed is stamped late: a plateau ends where the frames go to the next one's value,
// between the moment its reading was asked for (else its own stamp) and the next one's stamp.
// Frames before a plateau's own stamp are not counted, and those before it has settled neither.
[[nodiscard]] std::vector<Rows> judged_rows(const Track& track, const std::vector<Plateau>& all,
                                            std::int64_t settling_ns);

// The time after a change within which values are not judged: the map's delay and time constant
// where it has them, else from the data.
[[nodiscard]] double settling_s(const SignalEntry& entry, const Track& track,
                                const std::vector<Plateau>& plateaus);

}  // namespace foundling
