// The columns of the bench's table: which figure, its targets, and which family does worst in it.
#pragma once

#include <limits>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "tests/bench/recovery/score.h"

namespace foundling::recovery {

using FamilyFigures = std::vector<std::pair<std::string, Figures>>;

enum class Part { all, survey };  // which columns

struct Column {
  static constexpr double none = 1e9;

  const char* key;                        // in JSON
  const char* head[2];                    // in the table
  const char* target;                     // as text; empty: information only
  double least, most;                     // outside: marked
  const Ratio Figures::*ratio = nullptr;  // in per cent
  const int Figures::*count = nullptr;    // or a count a hundred channels

  // Nothing where nothing could be judged.
  [[nodiscard]] std::optional<double> value(const Figures& figures) const;
  [[nodiscard]] bool misses_target(double value) const { return value < least || value > most; }
  // How bad a value is, to compare with: its distance from the good end, or from the middle where
  // there is a target on either side.
  [[nodiscard]] double badness(double value) const;
};

[[nodiscard]] std::vector<Column> columns(Part part);

// The family that does worst in the column, by place; nothing where no family could be judged.
[[nodiscard]] std::optional<std::size_t> worst_family(const Column& column,
                                                      const FamilyFigures& families);

}  // namespace foundling::recovery
