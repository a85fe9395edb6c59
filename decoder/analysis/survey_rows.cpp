#include "decoder/analysis/survey_rows.h"

#include <algorithm>
#include <bit>
#include <cstring>
#include <numeric>

namespace foundling {
namespace {

static_assert(std::endian::native == std::endian::little, "byte 0 is a word's lowest");

constexpr std::size_t blocks_of_a_long_recording = 16;

int usual_length(const MessageSeries& message) {
  if (message.lengths.empty()) return message.length;
  std::array<std::size_t, 256> seen{};
  for (const std::uint8_t length : message.lengths) ++seen[length];
  return static_cast<int>(std::max_element(seen.begin(), seen.end()) - seen.begin());
}

// Which of `size` rows to keep: all, or evenly spread blocks.
std::vector<std::size_t> kept(std::size_t size, std::size_t most) {
  std::vector<std::size_t> rows;
  if (size <= most) {
    rows.resize(size);
    std::iota(rows.begin(), rows.end(), std::size_t{0});
    return rows;
  }
  const std::size_t block = std::max<std::size_t>(1, most / blocks_of_a_long_recording);
  for (std::size_t b = 0; b < blocks_of_a_long_recording; ++b) {
    const std::size_t start = (size - block) * b / (blocks_of_a_long_recording - 1);
    for (std::size_t i = 0; i < block; ++i) rows.push_back(start + i);
  }
  return rows;
}

void find_moved(SurveyRows& rows) {
  for (std::size_t i = 1; i < rows.size; ++i) {
    for (int w = 0; w < rows.words; ++w) {
      rows.moved[static_cast<std::size_t>(w)] |= rows.row(i)[w] ^ rows.row(0)[w];
    }
  }
}

SurveyRows picked(const SurveyRows& rows, const std::vector<std::size_t>& order) {
  SurveyRows result{rows.length, rows.words, order.size(), {}, {}, {}};
  result.bits.reserve(order.size() * static_cast<std::size_t>(rows.words));
  for (const std::size_t i : order) {
    result.bits.insert(result.bits.end(), rows.row(i), rows.row(i) + rows.words);
  }
  result.follows.assign(order.size(), 0);
  return result;
}

// Rows by the field's value, those of one value as they were recorded: by counting, where the
// values are few.
std::vector<std::size_t> sorted_by(const SurveyRows& rows, const FieldReader& read, int width) {
  std::vector<std::size_t> order(rows.size);
  if (width > 8) {
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return read(rows.row(a)) < read(rows.row(b));
    });
    return order;
  }
  std::array<std::size_t, 257> next{};  // the place of the next row of each value
  for (std::size_t i = 0; i < rows.size; ++i) ++next[read(rows.row(i)) + 1];
  std::partial_sum(next.begin(), next.end(), next.begin());
  for (std::size_t i = 0; i < rows.size; ++i) order[next[read(rows.row(i))]++] = i;
  return order;
}

}  // namespace

SurveyRows survey_rows(const MessageSeries& message, std::size_t most) {
  SurveyRows rows;
  rows.length = usual_length(message);
  rows.words = (rows.length + 7) / 8;
  if (rows.length == 0) return rows;
  std::vector<std::size_t> usual;
  if (!message.lengths.empty()) {
    for (std::size_t i = 0; i < message.size(); ++i) {
      if (message.lengths[i] == rows.length) usual.push_back(i);
    }
  }
  const std::vector<std::size_t> picks =
      kept(message.lengths.empty() ? message.size() : usual.size(), most);
  rows.size = picks.size();
  rows.bits.assign(rows.size * static_cast<std::size_t>(rows.words), 0);
  rows.follows.assign(rows.size, 0);
  std::size_t before = 0;
  for (std::size_t k = 0; k < rows.size; ++k) {
    const std::size_t i = usual.empty() ? picks[k] : usual[picks[k]];
    const auto payload = message.row(i);
    std::uint64_t* out = rows.bits.data() + k * static_cast<std::size_t>(rows.words);
    std::memcpy(out, payload.data(), static_cast<std::size_t>(rows.length));
    rows.follows[k] = k > 0 && i == before + 1 ? 1 : 0;
    before = i;
  }
  find_moved(rows);
  return rows;
}

SurveyRows thinned(const SurveyRows& rows, std::size_t most) {
  if (rows.size <= most) return rows;
  const std::vector<std::size_t> order = kept(rows.size, most);
  SurveyRows result = picked(rows, order);
  for (std::size_t k = 1; k < order.size(); ++k) {
    result.follows[k] = order[k] == order[k - 1] + 1 ? rows.follows[order[k]] : 0;
  }
  find_moved(result);
  return result;
}

SurveyRows different_rows(const SurveyRows& rows) {
  const auto words = static_cast<std::size_t>(rows.words);
  const auto hash = [&](std::size_t i) {
    std::uint64_t value = 0;
    for (std::size_t w = 0; w < words; ++w) {
      value = (value ^ rows.row(i)[w]) * 0x9E3779B97F4A7C15U;
      value ^= value >> 29U;
    }
    return static_cast<std::size_t>(value);
  };
  // An open table of rows, one more than their index; 0 is a free place.
  const std::size_t first = rows.size / 50;
  std::vector<std::size_t> table(std::bit_ceil(2 * (rows.size - first) + 1));
  std::vector<std::size_t> order;
  for (std::size_t i = first; i < rows.size; ++i) {
    std::size_t at = hash(i) & (table.size() - 1);
    while (table[at] != 0 &&
           !std::equal(rows.row(i), rows.row(i) + words, rows.row(table[at] - 1))) {
      at = (at + 1) & (table.size() - 1);
    }
    if (table[at] != 0) continue;
    table[at] = i + 1;
    order.push_back(i);
  }
  SurveyRows result = picked(rows, order);
  find_moved(result);
  return result;
}

std::size_t spread(std::size_t k, std::size_t count, std::size_t size) {
  const std::size_t start = size * k / count;
  const std::size_t room = std::max<std::size_t>(1, size * (k + 1) / count - start);
  return start + ((k * std::size_t{2654435761U}) >> 16) % room;
}

SurveyRows ordered_by(const SurveyRows& rows, const Span& field) {
  const FieldReader read(field);
  std::vector<std::size_t> order = sorted_by(rows, read, field.width());
  SurveyRows result = picked(rows, order);
  for (std::size_t k = 1; k < order.size(); ++k) {
    result.follows[k] = read(result.row(k)) == read(result.row(k - 1)) ? 1 : 0;
  }
  result.moved = rows.moved;
  return result;
}

void set_span(BitMask& mask, const Span& span) {
  for (int i = 0; i < span.width(); ++i) set_bit(mask, bit_index(span.position(i)));
}

FieldReader::FieldReader(const Span& span) {
  const int width = span.width();
  for (int i = 0; i < width;) {
    const int start = bit_index(span.position(i));
    int run = 1;
    while (i + run < width && bit_index(span.position(i + run)) == start + run &&
           start / 64 == (start + run) / 64) {
      ++run;
    }
    const std::uint64_t mask = run >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << run) - 1;
    pieces_[static_cast<std::size_t>(count_++)] = {mask, start / 64, start % 64, i};
    i += run;
  }
}

std::uint64_t BitTally::count(int index) const {
  std::uint64_t total = 0;
  const Word& word = words_[static_cast<std::size_t>(index / 64)];
  const int bit = index % 64;
  for (std::size_t k = 0; k < word.used; ++k) total |= ((word.planes[k] >> bit) & 1U) << k;
  for (std::size_t k = 0; k < waiting_planes; ++k) {
    if (((word.added >> k) & 1U) != 0) total += ((word.waiting[k] >> bit) & 1U) << k;
  }
  return total;
}

Toggles toggles(const SurveyRows& rows) {
  Toggles result;
  for (std::size_t i = 1; i < rows.size; ++i) {
    if (rows.follows[i] == 0) continue;
    ++result.pairs;
    for (int w = 0; w < rows.words; ++w) result.tally.add(w, rows.row(i)[w] ^ rows.row(i - 1)[w]);
  }
  return result;
}

}  // namespace foundling
