// Watches decoded values for what cannot be right: cells against the pack's voltage, reported
// extremes against the cells, values that froze, counters that jump and checksums that do not fit.
// Pure, streaming, in constant memory. It is a display and NOT a protection function: it sees what
// the board says, late, unverified, and stops nothing.
//
// Roles are told by names and units. A group is four or more numbered signals of one name and unit
// (cell_01 ... cell_28). Against a group of voltages stand `pack_voltage` and `cell_sum`; against
// any group `cell_min`, `min_cell`, `cell_minimum`, `cell_lowest`, `lowest_cell`, the same for the
// largest (max, maximum, highest), each also with the group's plural or with `_voltage` behind it.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "decoder/decode/decode.h"

namespace foundling {

inline constexpr std::string_view sanity_is_no_protection =
    "The sanity watch is a display, not a protection function: it stops nothing.";

enum class SanityKind : std::uint8_t {
  sum_of_cells,  // a group's sum against a total
  least_of_cells,
  largest_of_cells,
  frozen,    // a value stands still that never stood still so long
  checksum,  // of a message's frames
  counter,   // of a message's frames: repeated or skipped
};
[[nodiscard]] std::string_view to_string(SanityKind kind);  // "sum-of-cells" ...

struct SanityCheck {
  SanityKind kind{};
  std::string subject;        // "pack_voltage", "1A4 counter 6.3..6.0"
  std::uint64_t looked = 0;   // stretches of ten seconds, or frames; of `frozen`: signals
  std::uint64_t failed = 0;   // of them
  std::int64_t first_ns = 0;  // of the failures, on the session's time line
  std::int64_t last_ns = 0;
  double worst = 0;          // how far apart in `unit`; of `frozen`: how long in s
  std::string unit;          // of `worst`; empty where there is none
  bool failing_now = false;  // the newest look failed
  std::string text;          // the result in one sentence, passed or failed
};

class SanityWatch {
 public:
  // `fields` are those of the decoder whose values come in; both must outlive the watch. A decoder
  // that leaves fields out leaves checks out.
  SanityWatch(const SignalMap& map, std::span<const Field> fields);
  SanityWatch(SanityWatch&&) noexcept;
  SanityWatch& operator=(SanityWatch&&) noexcept;
  ~SanityWatch();

  // Every data frame in order of time, with its values (none: a message without signals).
  void see(const Frame& frame, std::span<const DecodedValue> values);
  // After frames are known to be missing (a gap, a new session): counters start anew.
  void forget_counters();

  // Checks that were possible, failed ones first.
  [[nodiscard]] std::vector<SanityCheck> checks() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace foundling
