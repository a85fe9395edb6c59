// What the search for signals puts forward, with figures. Pure data.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "decoder/analysis/coding.h"
#include "schemas/values/frame.h"
#include "schemas/values/span.h"

namespace foundling {

// Why an answer is weak whose line is as sound as a strong one's.
inline constexpr const char* ends_in_the_open_note =
    "the bit below it moves too and is unexplained: it may reach further down";

enum class Verdict : std::uint8_t { strong, weak, ambiguous };

struct Interval {  // 95 % unless said otherwise
  double low = 0;
  double high = 0;
};

struct Page {  // the selector's field and the value at which this layout holds
  Span span;
  std::uint64_t value = 0;
  auto operator<=>(const Page&) const = default;
};

struct FieldPlace {  // where a field is: message, page, bits
  std::uint8_t bus = 0;
  CanId id;
  std::optional<Page> page;
  Span span;
};

struct CurvePoint {  // of a field that is no straight line of its channel
  double raw = 0;
  double value = 0;        // unit of the channel
  double uncertainty = 0;  // standard, of the value; NaN for a point that was not measured
};

struct Proposal {
  std::string channel;
  std::string unit;
  bool derived = false;  // of a channel computed from others (sum of the cells, power, ...)
  FieldPlace place;
  bool is_signed = false;  // two's complement, or a code of its own that has a sign
  bool is_float = false;   // IEEE 754 single or double, by width
  // sign_magnitude, ones_complement or decimal; natural where the two above say it all.
  Coding other_coding = Coding::natural;
  // Where not empty, straight lines between these points give the value, nothing beyond the ends;
  // ascending in raw. Scale and offset are then those of the nearest line and only orient: their
  // intervals are the slopes that occur, and the offsets between which such a line holds all
  // points.
  std::vector<CurvePoint> table;
  double scale = 1;  // physical = raw * scale + offset; the round ones where chosen
  double offset = 0;
  double scale_fitted = 1;
  double offset_fitted = 0;
  Interval scale_interval;  // of the fitted line, each for itself
  Interval offset_interval;
  double delay_s = 0;          // the board's value lags the stimulus by this: pure delay
  double time_constant_s = 0;  // first-order low-pass on top of it; 0 if none
  double residual_rms = 0;     // unit of the channel
  int levels = 0;              // distinct levels the channel had
  double chance = 1;  // probability that the best of all candidates looks this good by accident
  bool chance_by_plan = false;  // from redrawing the plan; else from permuting what was applied
  int untested_high_bits = 0;   // the span's top bits that never changed
  Verdict verdict = Verdict::weak;
  int rank = 1;
  std::map<std::uint64_t, std::string> states;  // raw code -> word, for state channels
  std::vector<std::uint64_t> reserved;          // raw codes seen that stand for no value
  std::vector<std::uint64_t> startup_codes;     // of these, such as were there at a start-up only
  std::vector<FieldPlace> same_as;              // other fields that carry the same channel
  std::vector<std::string> ambiguous_with;      // channels that cannot be told apart from this one
  bool inferred = false;                        // a series member that was never moved
  std::string note;  // why weak or ambiguous, or how the round numbers were chosen
};

[[nodiscard]] inline Coding coding_of(const Proposal& p) {
  if (p.other_coding != Coding::natural) return p.other_coding;
  if (p.is_float) return Coding::ieee754;
  return p.is_signed ? Coding::twos_complement : Coding::natural;
}

// A measured channel for which nothing strong was found, and why. No channel goes without a word.
struct Unanswered {
  struct Nearest {  // the field that came closest
    FieldPlace place;
    int levels = 0;  // at which it was seen
    int agree = 0;   // of these, how many it agrees with
  };
  std::string channel;
  std::string reason;  // a sentence
  std::optional<Nearest> nearest = {};
  std::string advice;  // a sentence: what to do
};

// What seems to have happened to a reading that the field of its channel contradicts.
enum class Slip : std::uint8_t {
  factor_10,  // the decimal point is elsewhere
  sign,
  digits,     // two digits changed places, or one was misread
  previous,   // the value before, written down once more
  neighbour,  // the value of another channel
  unfit       // none of these
};

struct UnfitReading {
  std::int64_t reading = 0;  // its row in the capture
  std::string channel;
  std::string unit;
  std::int64_t t_ns = 0;
  double value = 0;        // as written down; of a state channel unused
  double expected = 0;     // what the field says
  std::string state = {};  // the same of a state channel, in words
  std::string expected_state = {};
  Slip kind = Slip::unfit;
};

struct RedrawnPlan {  // behind the chance figures
  std::string name;   // of its file, or that the capture has it
  std::uint64_t seed = 0;
  int draws = 0;
};

struct SearchedSession {  // what the proposals were found in
  std::string capture;    // file name, without the folders of this machine
  std::int64_t session = 1;
  std::uint64_t frames = 0;
  std::uint64_t readings = 0;
  bool operator==(const SearchedSession&) const = default;
};

struct Correlation {
  std::vector<Proposal> proposals;  // by channel, then rank
  std::vector<std::string> advice;  // sentences: what is missing, and what to do on the bench next
  double seconds = 0;               // time taken; the caller fills it in
  std::vector<Unanswered> unanswered = {};        // by channel
  std::vector<UnfitReading> unfit_readings = {};  // by time
  std::optional<RedrawnPlan> plan = {};           // likewise
  std::optional<SearchedSession> source = {};     // likewise
};

}  // namespace foundling
