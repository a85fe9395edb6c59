#include "decoder/analysis/survey_pairs.h"

#include <algorithm>

namespace foundling {
namespace {

using Number = std::array<std::uint64_t, payload_words>;  // lowest word first

std::uint64_t swapped(std::uint64_t word) { return __builtin_bswap64(word); }

// The payload as a number; a last word that is not full has zeros above its bytes, which in
// high-byte-first order are the lowest bytes: harmless.
Number number_of(const SurveyRows& rows, std::size_t i, ByteOrder order) {
  Number result{};
  for (int w = 0; w < rows.words; ++w) {
    const auto to = static_cast<std::size_t>(order == ByteOrder::little ? w : rows.words - 1 - w);
    result[to] = order == ByteOrder::little ? rows.row(i)[w] : swapped(rows.row(i)[w]);
  }
  return result;
}

// 2 b - a, modulo the size of the payload.
Number led_to(const Number& a, const Number& b, int words) {
  Number result{};
  std::uint64_t shifted_in = 0;
  std::uint64_t borrow = 0;
  for (std::size_t w = 0; w < static_cast<std::size_t>(words); ++w) {
    const std::uint64_t twice = (b[w] << 1U) | shifted_in;
    shifted_in = b[w] >> 63U;
    const std::uint64_t less = twice - a[w];
    const bool below = twice < a[w];
    result[w] = less - borrow;
    borrow = below || less < borrow ? 1 : 0;
  }
  return result;
}

}  // namespace

void Pairs::add(const SurveyRows& rows, std::size_t a, std::size_t b) {
  ++pairs;
  for (int w = 0; w < rows.words; ++w) tally.add(w, rows.row(a)[w] ^ rows.row(b)[w]);
}

double Pairs::variance(int index) const {
  const auto n = static_cast<double>(pairs);
  const double p = (static_cast<double>(tally.count(index)) + 1) / (n + 2);
  return p * (1 - p) / n;
}

Pairs neighbours(const SurveyRows& rows, Stretch stretch) {
  Pairs result;
  for (std::size_t i = std::max<std::size_t>(stretch.from, 1); i < stretch.to; ++i) {
    if (rows.follows[i] != 0) result.add(rows, i - 1, i);
  }
  return result;
}

Pairs carried_on(const SurveyRows& rows, Stretch stretch, ByteOrder order) {
  Pairs result;
  if (stretch.to < stretch.from + 3) return result;
  Number before = number_of(rows, stretch.from, order);
  Number last = number_of(rows, stretch.from + 1, order);
  for (std::size_t i = stretch.from + 2; i < stretch.to; ++i) {
    const Number now = number_of(rows, i, order);
    if (rows.follows[i] != 0 && rows.follows[i - 1] != 0) {
      const Number expected = led_to(before, last, rows.words);
      ++result.pairs;
      for (int w = 0; w < rows.words; ++w) {
        const auto at =
            static_cast<std::size_t>(order == ByteOrder::little ? w : rows.words - 1 - w);
        const std::uint64_t wrong = now[at] ^ expected[at];
        result.tally.add(w, order == ByteOrder::little ? wrong : swapped(wrong));
      }
    }
    before = last;
    last = now;
  }
  return result;
}

Pairs held(const SurveyRows& rows, Stretch stretch, const Span& field) {
  const FieldReader read(field);
  std::array<std::size_t, 256> last{};
  Pairs result;
  for (std::size_t i = stretch.from; i < stretch.to; ++i) {
    const std::uint64_t value = read(rows.row(i));
    // Across a break of the recording too much time has passed.
    if (rows.follows[i] == 0) last.fill(0);
    if (last[value] != 0) result.add(rows, last[value] - 1, i);
    last[value] = i + 1;
  }
  return result;
}

Pairs mixed(const SurveyRows& rows, const Span& coarse, const Span& fine) {
  const FieldReader read(coarse);
  const FieldReader read_fine(fine);
  std::array<std::size_t, 256> last{};
  Pairs result;
  for (std::size_t i = 0; i < rows.size; ++i) {
    const std::uint64_t value = read(rows.row(i));
    if (rows.follows[i] == 0) last.fill(0);
    if (last[value] != 0 && read_fine(rows.row(last[value] - 1)) != read_fine(rows.row(i))) {
      result.add(rows, last[value] - 1, i);
    }
    last[value] = i + 1;
  }
  return result;
}

}  // namespace foundling
