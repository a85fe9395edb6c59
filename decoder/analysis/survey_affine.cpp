#include "decoder/analysis/survey_affine.h"

#include <algorithm>
#include <bit>
#include <set>

namespace foundling {
namespace {

constexpr std::size_t columns_words = payload_words + 5;  // payload, then the constant, the group
constexpr int constant_column = payload_words * 64;
constexpr std::uint64_t most_group_values = 256;
using Columns = std::array<std::uint64_t, columns_words>;

bool has(const Columns& c, int index) {
  return ((c[static_cast<std::size_t>(index / 64)] >> (index % 64)) & 1U) != 0;
}

void add(Columns& c, const Columns& other) {
  for (std::size_t w = 0; w < columns_words; ++w) c[w] ^= other[w];
}

int lowest(const Columns& c) {
  for (std::size_t w = 0; w < columns_words; ++w) {
    if (c[w] != 0) return static_cast<int>(w) * 64 + std::countr_zero(c[w]);
  }
  return -1;
}

class Elimination {
 public:
  void insert(Columns row) {
    for (int column = lowest(row); column >= 0; column = lowest(row)) {
      Columns& pivot = pivots_[static_cast<std::size_t>(column)];
      if (lowest(pivot) < 0) {
        pivot = row;
        ++rank_;
        return;
      }
      add(row, pivot);
    }
  }
  [[nodiscard]] int rank() const { return rank_; }

  // The vectors that every inserted row is orthogonal to, one for each column without a pivot.
  std::vector<Columns> null_space(const std::vector<int>& columns) {
    for (auto at = columns.rbegin(); at != columns.rend(); ++at) {
      Columns& pivot = pivots_[static_cast<std::size_t>(*at)];
      if (lowest(pivot) < 0) continue;
      for (const int column : columns) {
        const Columns& other = pivots_[static_cast<std::size_t>(column)];
        if (column > *at && has(pivot, column) && lowest(other) >= 0) add(pivot, other);
      }
    }
    std::vector<Columns> result;
    for (const int free : columns) {
      if (lowest(pivots_[static_cast<std::size_t>(free)]) >= 0) continue;
      Columns vector{};
      const auto set = [&](int c) {
        vector[static_cast<std::size_t>(c / 64)] |= std::uint64_t{1} << (c % 64);
      };
      set(free);
      for (const int column : columns) {
        const Columns& pivot = pivots_[static_cast<std::size_t>(column)];
        if (column != free && lowest(pivot) >= 0 && has(pivot, free)) set(column);
      }
      result.push_back(vector);
    }
    return result;
  }

 private:
  std::vector<Columns> pivots_ = std::vector<Columns>(columns_words * 64);
  int rank_ = 0;
};

}  // namespace

AffineRelations::AffineRelations(const SurveyRows& rows, const Span* group) : moved_(rows.moved) {
  std::vector<int> columns;
  for (int index = 0; index < rows.length * 8; ++index) {
    if (has_bit(rows.moved, index)) columns.push_back(index);
  }
  columns.push_back(constant_column);
  std::set<std::uint64_t> group_values;
  if (group != nullptr) {
    const FieldReader read(*group);
    for (std::size_t i = 0; i < rows.size; ++i) group_values.insert(read(rows.row(i)));
    for (const std::uint64_t value : group_values) {
      // One value stays without a column: the constant is the sum of all.
      if (value != *group_values.begin() && value < most_group_values) {
        columns.push_back(constant_column + 1 + static_cast<int>(value));
      }
    }
  }
  const std::size_t wanted = std::min(rows.size, 3 * columns.size() + 128);
  Elimination elimination;
  for (std::size_t k = 0; k < wanted; ++k) {
    const std::size_t i = wanted == rows.size ? k : spread(k, wanted, rows.size);
    Columns row{};
    for (int w = 0; w < rows.words; ++w) {
      row[static_cast<std::size_t>(w)] = rows.row(i)[w] & rows.moved[static_cast<std::size_t>(w)];
    }
    row[payload_words] |= 1;
    if (group != nullptr) {
      const std::uint64_t value = FieldReader(*group)(rows.row(i));
      const std::uint64_t column = value + 1;
      if (value != *group_values.begin() && value < most_group_values) {
        row[payload_words + column / 64] |= std::uint64_t{1} << (column % 64);
      }
    }
    elimination.insert(row);
    if (elimination.rank() == static_cast<int>(columns.size())) return;
  }
  for (const Columns& vector : elimination.null_space(columns)) {
    BitMask mask{};
    std::copy_n(vector.begin(), payload_words, mask.begin());
    relations_.push_back(mask);
  }
}

bool AffineRelations::determine(const Span& span) const {
  const FieldReader read(span);
  const std::uint64_t moving = read(moved_.data());
  std::vector<std::uint64_t> basis;
  for (const BitMask& relation : relations_) {
    std::uint64_t part = read(relation.data());
    for (const std::uint64_t b : basis) part = std::min(part, part ^ b);
    if (part != 0) basis.push_back(part);
  }
  return moving != 0 && static_cast<int>(basis.size()) == std::popcount(moving);
}

}  // namespace foundling
