#include "decoder/analysis/checksum_samples.h"

#include <algorithm>

namespace foundling {

ChecksumSamples checksum_samples(const SurveyRows& rows, CanId id, std::size_t most,
                                 const Span* group) {
  ChecksumSamples samples;
  samples.length = rows.length;
  samples.id = id;
  samples.grouped = group != nullptr;
  for (int index = 0; index < rows.length * 8; ++index) {
    if (has_bit(rows.moved, index)) samples.moving[static_cast<std::size_t>(index / 8)] = true;
  }
  const std::size_t wanted = std::min(rows.size, most);
  for (std::size_t k = 0; k < wanted; ++k) {
    const std::size_t i = wanted == rows.size ? k : spread(k, wanted, rows.size);
    Payload payload{};
    for (int b = 0; b < rows.length; ++b) payload[static_cast<std::size_t>(b)] = rows.byte(i, b);
    samples.rows.push_back(payload);
    samples.group.push_back(group != nullptr ? FieldReader(*group)(rows.row(i)) : 0);
  }
  return samples;
}

std::vector<std::uint8_t> identifier_bytes(CanId id, bool high_first) {
  std::vector<std::uint8_t> bytes;
  for (int shift = 0; shift < (id.is_extended() ? 32 : 16); shift += 8) {
    bytes.push_back(static_cast<std::uint8_t>(id.number() >> shift));
  }
  if (high_first) std::reverse(bytes.begin(), bytes.end());
  return bytes;
}

}  // namespace foundling
