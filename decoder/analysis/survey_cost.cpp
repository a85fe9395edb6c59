// Byte by byte, the cheaper of two adaptive codes for the difference to the frame before: one that
// learns the differences themselves (a counter has one), one that learns their size and sign (a
// measured value has small ones) and pays for the rest. Both learn as they go (Krichevsky and
// Trofimov 1981), so that few frames are not mistaken for regular ones.
#include "decoder/analysis/survey_cost.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <set>

namespace foundling {
namespace {

template <std::size_t symbols>
class AdaptiveCode {
 public:
  double cost(std::size_t symbol) {
    const double bits = std::log2((total_ + symbols / 2.0) / (seen_[symbol] + 0.5));
    ++seen_[symbol];
    ++total_;
    return bits;
  }

 private:
  std::array<double, symbols> seen_{};
  double total_ = 0;
};

// Learns the sizes 0, 1, 2..3, 4..7, ... with their signs.
class SizeCode {
 public:
  double cost(std::uint8_t difference) {
    const auto value = static_cast<std::int8_t>(difference);
    const auto magnitude = static_cast<unsigned>(std::abs(int{value}));
    const auto size = static_cast<std::size_t>(std::bit_width(magnitude));
    return classes_.cost(2 * size + (value < 0 ? 1 : 0)) +
           (size > 1 ? static_cast<double>(size - 1) : 0);
  }

 private:
  AdaptiveCode<18> classes_;
};

double byte_cost(const SurveyRows& rows, int byte) {
  AdaptiveCode<256> by_value;
  SizeCode by_size;
  double value_bits = 0;
  double size_bits = 0;
  std::size_t pairs = 0;
  for (std::size_t i = 1; i < rows.size; ++i) {
    if (rows.follows[i] == 0) continue;
    const auto difference = static_cast<std::uint8_t>(rows.byte(i, byte) - rows.byte(i - 1, byte));
    value_bits += by_value.cost(difference);
    size_bits += by_size.cost(difference);
    ++pairs;
  }
  return pairs == 0 ? 0 : std::min(value_bits, size_bits) / static_cast<double>(pairs);
}

}  // namespace

double cost_a_frame(const SurveyRows& rows, const Span& span) {
  std::set<int> bytes;
  for (int i = 0; i < span.width(); ++i) bytes.insert(span.position(i).byte);
  double total = 0;
  for (const int byte : bytes) total += byte_cost(rows, byte);
  return total;
}

}  // namespace foundling
