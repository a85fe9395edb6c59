// Payloads to try checksum formulas on, and the place of the checksum within them.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "decoder/analysis/survey_rows.h"

namespace foundling {

using Payload = std::array<std::uint8_t, 64>;

struct ChecksumSamples {
  int length = 0;
  CanId id;
  std::vector<Payload> rows;         // as recorded, different from one another
  std::vector<std::uint64_t> group;  // value of the grouping field, one a row; 0 without one
  bool grouped = false;
  std::array<bool, 64> moving{};  // bytes that are not always the same
};

// Up to `most` of the rows, which are different from one another, evenly spread.
[[nodiscard]] ChecksumSamples checksum_samples(const SurveyRows& rows, CanId id, std::size_t most,
                                               const Span* group = nullptr);

// The bytes of a checksum field.
struct ChecksumPlace {
  Span span;
  int first = 0;  // bytes first..last
  int last = 0;
  int width = 8;

  [[nodiscard]] bool owns(int byte) const { return byte >= first && byte <= last; }
};

// The identifier as bytes: two for 11 bits, four for 29.
[[nodiscard]] std::vector<std::uint8_t> identifier_bytes(CanId id, bool high_first);

}  // namespace foundling
