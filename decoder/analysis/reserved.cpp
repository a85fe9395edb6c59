#include "decoder/analysis/reserved.h"

#include <algorithm>
#include <limits>
#include <map>

namespace foundling {

std::vector<std::uint64_t> reserved_codes(const MessageSeries& message, const FieldPlace& place,
                                          Coding coding) {
  const int width = place.span.width();
  if (coding != Coding::natural || width < 4 || width > 32) return {};
  const std::uint64_t all_ones = (std::uint64_t{1} << width) - 1;
  std::uint64_t greatest = 0;
  std::size_t seen = 0;
  for (std::size_t i = 0; i < message.size(); ++i) {
    if (!message.lengths.empty() && message.lengths[i] <= place.span.last_byte()) continue;
    const auto payload = message.row(i);
    if (place.page && extract(place.page->span, payload) != place.page->value) continue;
    const std::uint64_t raw = extract(place.span, payload);
    if (raw == all_ones) {
      ++seen;
    } else {
      greatest = std::max(greatest, raw);
    }
  }
  // J1939-71's valid range ends at FA of FF, and FC begins what stands for no value: 1/64 below.
  const std::uint64_t clear = std::max<std::uint64_t>(all_ones / 64, 2);
  if (seen < 2 || greatest > all_ones - clear) return {};
  return {all_ones};
}

SubstituteCodes substitute_codes(const MessageSeries& message, const std::vector<bool>& left_out,
                                 const FieldPlace& place, Coding coding) {
  SubstituteCodes out;
  if (left_out.empty() || coding == Coding::ieee754) return out;
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  struct Seen {
    std::size_t early = 0;  // before any frame that counts
    std::size_t later = 0;
  };
  std::map<std::uint64_t, Seen> seen;
  for (std::size_t i = 0; i < message.size(); ++i) {
    if (!message.lengths.empty() && message.lengths[i] <= place.span.last_byte()) continue;
    const auto payload = message.row(i);
    if (place.page && extract(place.page->span, payload) != place.page->value) continue;
    const std::uint64_t raw = extract(place.span, payload);
    if (left_out[i]) {
      ++(low > high ? seen[raw].early : seen[raw].later);
      continue;
    }
    const double value = number_of(raw, place.span.width(), coding);
    low = std::min(low, value);
    high = std::max(high, value);
  }
  // A field's neighbour may have been without a value: what moved then, or came once, is no code.
  constexpr std::size_t least = 2;
  for (const auto& [code, count] : seen) {
    const double value = number_of(code, place.span.width(), coding);
    if (count.early + count.later < least || (value >= low && value <= high)) continue;
    out.all.push_back(code);
    if (count.later == 0) out.startup.push_back(code);
  }
  return out;
}

}  // namespace foundling
