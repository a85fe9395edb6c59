// What is true of a random board: every field that carries a channel, what moved, and what a survey
// should find. Filled by the generator from the frames it made; read by the scorer.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "schemas/values/frame.h"
#include "schemas/values/reading.h"
#include "schemas/values/span.h"
#include "tests/bench/recovery/sensor_curve.h"
#include "tests/bench/recovery/window.h"

namespace foundling::recovery {

struct TruePage {
  Span span;
  std::uint64_t value = 0;
};

// physical = raw * scale + offset, as the maker's papers would say. The line that readings and
// frames of this session really follow, board's and instrument's gain and zero errors included, is
// reading = raw * line_scale + line_offset; intervals are judged against that one.
struct TrueField {
  std::string quantity;
  std::uint8_t bus = 0;
  CanId id;
  std::optional<TruePage> page;
  Span span;
  bool is_signed = false;
  bool is_float = false;
  double scale = 1;
  double offset = 0;
  SensorCurve curve;  // where it has a shape, no line is true, and the numbers below orient only
  double line_scale = 1;
  double line_offset = 0;
  double delay_s = 0;          // of the board, half of its measuring period included
  double time_constant_s = 0;  // first-order low-pass of the board
  double noise = 0;            // standard deviation ahead of quantisation, unit of the quantity
  std::map<std::uint64_t, std::string> states;  // raw code -> word
  std::uint64_t moved = 0;                      // bit i of the field changed in an ordinary frame
  std::uint64_t moved_at_all = 0;               // reserved codes counted too
  double ordinary_from_s = 0;                   // before this the field holds a reserved code
  std::vector<Window> substituted;              // and during these some code or a frozen value
  double saturates_below = 0;                   // equal bounds: nothing saturates
  double saturates_above = 0;

  [[nodiscard]] bool is_curved() const { return curve.shape != SensorCurve::Shape::none; }
  [[nodiscard]] double resolution() const { return is_float ? noise * 3 : scale; }
  [[nodiscard]] bool is_ordinary(double t_s) const {  // the field says what was measured
    for (const Window& window : substituted) {
      if (window.holds(t_s)) return false;
    }
    return t_s >= ordinary_from_s;
  }
  [[nodiscard]] bool is_ordinary(std::int64_t t_ns) const {
    return is_ordinary(static_cast<double>(t_ns) * 1e-9);
  }
  [[nodiscard]] bool sign_can_be_told() const {  // its top bit moved
    return !is_float && ((moved >> (span.width() - 1)) & 1U) != 0;
  }
};

// A reading that is wrong, in the channel under whose name it stands.
struct TrueSlip {
  std::int64_t reading = 0;  // its id
  Slip kind = Slip::unfit;
};

struct TrueChannel {
  std::string name;
  std::vector<TrueField> fields;  // all that carry it; none: no signal
  std::vector<TrueField> also;    // tell the channel among other things: no false claim
  bool excited = false;           // moved enough that it should be found
  int levels = 0;
  double low = 0, high = 0;     // what it was driven to
  double uncertainty = 0;       // of its readings, whether stated or not
  double clock_offset_s = 0;    // readings are stamped this much early, at the session's middle
  std::vector<Reading> honest;  // as a hand that is on time and right would have written them
  std::vector<TrueSlip> slips;
  std::vector<std::int64_t> doubtful;  // readings that may be called right or wrong
};

struct TrueCounter {
  Span span;
  std::int64_t step = 1;
  std::uint64_t modulus = 0;
};

struct TrueChecksum {
  Span span;
  std::string kind;
  std::string polynomial;
};

struct TrueSelector {
  Span span;
  std::vector<std::uint64_t> values;
};

struct TrueMessage {
  std::uint8_t bus = 0;
  CanId id;
  std::vector<TrueCounter> counters;
  std::vector<TrueChecksum> checksums;
  std::vector<TrueSelector> selectors;
};

struct Truth {
  std::string disturbance;  // in words, for what is printed of a miss; empty: none
  std::vector<TrueChannel> channels;
  std::vector<std::vector<std::string>> confounded;  // sets of channels that moved together
  std::vector<TrueField> computed;  // charge, power, least, greatest and mean cell, sum
  std::vector<TrueField> others;    // real quantities that nobody moved, and decoys
  std::vector<TrueMessage> messages;
  std::vector<double> cells_sum;  // V, every 0.1 s, whether the board sends it or not
};

}  // namespace foundling::recovery
