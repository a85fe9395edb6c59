// Holds a signal map against the readings of a session that it was not made from. Pure. Channels
// that hold are judged plateau by plateau, after settling; sampled ones reading by reading, at the
// delay that fits best; states by the word that a plateau shows most. The rules of the verdict
// stand in check_verdict.h, those for readings that were written down late in check_pairs.h.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "schemas/signals/signal_map.h"
#include "schemas/values/frame.h"
#include "schemas/values/reading.h"

namespace foundling {

// The error that passes: share * the range that was driven (or the largest reading, where that is
// less: a current goes both ways, and a board's gain error is of the reading) + steps * the
// signal's scale + coverage
// * the largest standard uncertainty of a reading, and never more than `most` of that range; or a
// figure that a person set, which has no such end.
struct CheckOptions {
  double share = 0.005;       // a few tenths of a percent of gain error are common in boards
  bool share_is_set = false;  // by a person, who then decides alone
  double steps = 2;           // of the raw value: quantisation, and a zero error of one step
  double coverage = 2;        // about 95 % of a normal distribution
  double most = 0.05;         // with more, a signal of another quantity might pass
  double gain_low = 0.95;     // as far as `most` is from 1
  double gain_high = 1.05;
  std::size_t fewest = 5;         // plateaus or readings: with fewer nothing was tested
  std::size_t fewest_levels = 3;  // two fit any straight line; a third can contradict it
  // The share of a held channel's readings that may be wrong by more than passes, and are then
  // named: slips of the hand. A session written down by hand has about one in a hundred; a tenth
  // leaves room for a bad day, and no level that was set in one try of ten is lost unseen.
  double slips = 0.1;
  // Of a moving channel this share of the errors decides: single frames are late or on their way.
  double percentile = 0.95;
  // The absolute tolerance of a signal, in its unit, where a person set one.
  std::function<std::optional<double>(const std::string& signal)> absolute;
};

struct Misfit {              // a reading that the signal contradicts
  std::int64_t reading = 0;  // its row in the capture
  std::int64_t t_ns = 0;
  double value = 0;
  double expected = 0;  // what the signal says
  std::string state;    // the same of a state, in words
  std::string expected_state;
};

struct SignalCheck {
  std::string signal;
  std::string channel;
  std::string unit;
  bool is_state = false;
  std::size_t samples = 0;  // plateaus, or readings of a sampled channel
  double coverage = 0;      // the share of the channel's plateaus or readings that could be judged
  // Errors are signal - channel, in the channel's unit. Of a state 0 right and 1 wrong.
  double bias = 0;        // mean
  double gain = 1;        // slope of signal over channel; NaN with fewer than two levels
  double gain_error = 0;  // standard error of the gain; NaN where it cannot be said
  double rms = 0;
  double largest = 0;      // by size
  double deciding = 0;     // what is held against the tolerance: the largest, or the percentile
  std::size_t levels = 0;  // that can be told apart
  double range = 0;        // that was driven
  double delay_s = 0;      // signal behind channel: pure delay plus time constant
  double tolerance = 0;
  bool pass = false;
  bool tested = true;  // false: the readings cannot tell, and `pass` is false
  std::string reason;  // why it failed or was not tested
  // Of a held channel, by time. Where it passes they are so few that they pass for slips, and bias,
  // gain, rms and errors are those of the other readings.
  std::vector<Misfit> misfits;
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
