// Two recordings of the same board held against each other: what differs, and nothing that noise,
// drift or a few lost frames make up. Pure: two surveyed recordings in, differences out. How each
// difference is judged, and what its chance means, is in README.md beside this file.
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "decoder/analysis/survey.h"
#include "schemas/values/fd_message.h"
#include "schemas/values/frame.h"
#include "schemas/values/span.h"

namespace foundling {

enum class Side : std::uint8_t { a, b };

enum class DifferenceKind : std::uint8_t {
  only_in_one,    // the message came in `side` alone
  bit_rate,       // a, b: bit/s of the whole bus, as each recording has it
  data_bit_rate,  // the same of the data phase of CAN FD
  format,         // all frames in CAN FD format in `side`, none in the other
  period,         // a, b: seconds between frames
  jitter,         // a, b: robust standard deviation of that time, s
  regularity,     // by the clock in `side`, at any time in the other
  rate,           // a, b: frames a second of a message without a period
  silence,        // nothing in `side` from from_s to to_s; of a whole bus where `id` is empty
  length,         // a, b: bytes, the longest
  lengths,        // of several lengths in `side` alone
  selector,       // pages in `side` alone, or behind other bits than in the other
  page,           // `page` came in `side` alone
  counter,        // counts in `side` alone, or otherwise than in the other (a_form, b_form)
  checksum,       // the same for a checksum
  transport,      // segmented transport (ISO 15765-2) in `side` alone
  constant,       // still in both, at another value: a, b
  moves,          // moves in `side`, still in the other, whose value is a or b
  all_ones,       // whole bytes are all ones in `side`, which often says "not available"
  rest,           // a, b: the middle value of a moving field
  noise,          // a, b: the usual step from frame to frame
  restarted,      // a count that goes on steadily began anew before `side`, from_s before its start
  reset,          // counts began anew within `side`, at from_s
};

struct PagePlace {
  Span span;
  std::uint64_t value = 0;
  auto operator<=>(const PagePlace&) const = default;
};

struct Difference {
  DifferenceKind kind = DifferenceKind::constant;
  Side side = Side::a;
  std::uint8_t bus = 0;
  std::optional<CanId> id;
  std::optional<PagePlace> page;
  std::optional<Span> span;
  double a = std::numeric_limits<double>::quiet_NaN();
  double b = std::numeric_limits<double>::quiet_NaN();
  std::string a_form, b_form;  // of counters, checksums, selectors; empty: none there
  double from_s = std::numeric_limits<double>::quiet_NaN();  // after the side's first frame
  double to_s = std::numeric_limits<double>::quiet_NaN();
  // At most this much is the chance that two recordings of one steady state show such a thing
  // anywhere in all that was compared.
  double chance = 0;
};

struct Recorded {
  const Survey* survey = nullptr;
  std::span<const MessageSeries> messages;
  std::int64_t started_utc_ns = 0;  // 0: unknown; tells which of two recordings is the older one
  std::span<const FdMessage> fd_messages = {};
  std::int64_t bit_rate = 0, data_bit_rate = 0;  // bit/s; 0: unknown
};

struct Against {
  std::vector<Difference> differences;  // by bus and message; what concerns a whole bus first
  std::size_t messages = 0;             // that came in either
  std::size_t alike = 0;                // of them, without any difference
  std::size_t too_few = 0;              // of them, with too few frames to be told apart
  std::size_t comparisons = 0;          // that the chances are made for
};

[[nodiscard]] Against against(const Recorded& a, const Recorded& b);

// Nothing less sure is called a difference.
inline constexpr double most_chance_of_a_difference = 0.0001;

}  // namespace foundling
