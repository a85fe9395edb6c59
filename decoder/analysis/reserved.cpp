#include "decoder/analysis/reserved.h"

#include <algorithm>

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

}  // namespace foundling
