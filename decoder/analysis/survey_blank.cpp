#include "decoder/analysis/survey_blank.h"

#include <algorithm>
#include <cstddef>
#include <vector>

namespace foundling {
namespace {

constexpr std::size_t least_run = 3;  // fewer may be chance where a message is short

bool is_blank(std::span<const std::uint8_t> payload) {
  if (payload.size() < 2) return false;
  const std::uint8_t first = payload.front();
  return (first == 0x00 || first == 0xFF) &&
         std::all_of(payload.begin(), payload.end(), [&](std::uint8_t b) { return b == first; });
}

}  // namespace

std::optional<MessageSeries> without_blank_frames(const MessageSeries& message) {
  std::vector<bool> blank(message.size(), false);
  std::size_t count = 0;
  for (std::size_t i = 0; i < message.size();) {
    std::size_t end = i;
    while (end < message.size() && is_blank(message.row(end))) ++end;
    if (end - i >= least_run) {
      std::fill(blank.begin() + static_cast<std::ptrdiff_t>(i),
                blank.begin() + static_cast<std::ptrdiff_t>(end), true);
      count += end - i;
    }
    i = std::max(end, i + 1);
  }
  if (count == 0 || count * 4 > message.size()) return {};
  MessageSeries out;
  out.bus = message.bus;
  out.id = message.id;
  out.length = message.length;
  for (std::size_t i = 0; i < message.size(); ++i) {
    if (blank[i]) continue;
    const auto row = message.row(i);
    out.t_ns.push_back(message.t_ns[i]);
    out.bytes.insert(out.bytes.end(), row.begin(), row.end());
    if (!message.lengths.empty()) out.lengths.push_back(message.lengths[i]);
  }
  return out;
}

}  // namespace foundling
