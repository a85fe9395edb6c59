// Holds a signal map against the readings of a session that it was not made from. Pure. Channels
// that hold are judged plateau by plateau, after settling; sampled ones reading by reading, at the
// delay that fits best; states by the word that a plateau shows most.
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "schemas/signals/signal_map.h"
#include "schemas/values/frame.h"
#include "schemas/values/reading.h"

namespace foundling {

// The largest error that passes: gain * the largest reading + steps * the signal's scale
// + coverage * the largest standard uncertainty of a reading; or an absolute figure.
struct CheckOptions {
  double gain = 0.005;     // a few tenths of a percent of gain error are common in boards
  double steps = 2;        // of the raw value: quantisation, and a zero error of one step
  double coverage = 2;     // about 95 % of a normal distribution
  std::size_t fewest = 5;  // plateaus or readings; with fewer nothing passes
  // The absolute tolerance of a signal, in its unit, where a person set one.
  std::function<std::optional<double>(const std::string& signal)> absolute;
};

struct SignalCheck {
  std::string signal;
  std::string channel;
  std::string unit;
  bool is_state = false;
  std::size_t samples = 0;  // plateaus, or readings of a sampled channel
  double coverage = 0;      // the share of the channel's plateaus or readings that could be judged
  // Errors are signal - channel, in the channel's unit. Of a state 0 right and 1 wrong.
  double bias = 0;  // mean
  double gain = 1;  // slope of signal over channel; NaN with fewer than two levels
  double rms = 0;
  double largest = 0;  // by size
  double delay_s = 0;  // signal behind channel: pure delay plus time constant
  double tolerance = 0;
  bool pass = false;
  std::string reason;  // why not, or what to know
};

struct MapCheck {
  std::vector<SignalCheck> signals;             // in the map's order
  std::vector<std::string> signals_unchecked;   // no channel of that name
  std::vector<std::string> channels_unchecked;  // no signal of that name
};

[[nodiscard]] MapCheck check_map(const SignalMap& map, std::span<const MessageSeries> messages,
                                 std::span<const ChannelSeries> channels,
                                 const CheckOptions& options = {});

}  // namespace foundling
