#include "decoder/analysis/survey_constants.h"

#include <cstring>
#include <vector>

namespace foundling {
namespace {

std::vector<std::uint8_t> changed_bits(const MessageSeries& message) {
  std::vector<std::uint8_t> changed(message.length);
  if (message.lengths.empty() && message.length == 8) {  // most messages: a word at a time
    std::uint64_t first = 0;
    std::uint64_t all = 0;
    std::memcpy(&first, message.row(0).data(), 8);
    for (std::size_t i = 0; i < message.size(); ++i) {
      std::uint64_t row = 0;
      std::memcpy(&row, message.row(i).data(), 8);
      all |= row ^ first;
    }
    std::memcpy(changed.data(), &all, 8);
    return changed;
  }
  std::vector<std::uint8_t> first(message.length);
  std::vector<bool> seen(message.length);
  for (std::size_t i = 0; i < message.size(); ++i) {
    const auto payload = message.row(i);
    const std::size_t length = message.lengths.empty() ? message.length : message.lengths[i];
    for (std::size_t b = 0; b < length; ++b) {
      if (!seen[b]) first[b] = payload[b];
      seen[b] = true;
      changed[b] = static_cast<std::uint8_t>(changed[b] | (payload[b] ^ first[b]));
    }
  }
  return changed;
}

}  // namespace

std::vector<Span> survey_constants(const MessageSeries& message) {
  std::vector<Span> runs;
  if (message.size() < 2) return runs;
  const auto changed = changed_bits(message);
  std::vector<BitPosition> run;
  const auto close = [&] {
    if (!run.empty()) runs.push_back({run.front(), run.back()});
    run.clear();
  };
  for (std::uint8_t byte = 0; byte < message.length; ++byte) {
    for (int bit = 7; bit >= 0; --bit) {
      if (((changed[byte] >> bit) & 1) != 0 || run.size() == 64) close();
      if (((changed[byte] >> bit) & 1) == 0) {
        run.push_back({byte, static_cast<std::uint8_t>(bit)});
      }
    }
  }
  close();
  return runs;
}

}  // namespace foundling
