// Groups of alike fields whose sum goes with another field: cells and their pack's voltage, or
// their mean. A sum is put forward only where at least three members have each the same weight in
// it by their own motion; the other members are in it by likeness.
#pragma once

#include <cstddef>
#include <vector>

#include "decoder/relate/looked_at.h"

namespace foundling::relate {

struct SumRelation {
  std::size_t total = 0;             // field
  std::vector<std::size_t> members;  // fields, in order of the bus
  std::vector<std::size_t> shown;    // of them, whose own motion shows their weight
  std::vector<std::size_t> other;    // alike fields whose motion shows that they are no members
  double factor = 0;                 // total = factor * sum + constant, codes
  double factor_deviation = 0;
  double constant = 0;
  double r2 = 0;       // of the total's differences over settled steps
  double covered = 0;  // share of the total's motion in the steps that fit
  std::size_t steps = 0;
  double chance = 1;
  bool strong = false;
};

// Best first; one for each total.
[[nodiscard]] std::vector<SumRelation> find_sums(
    const LookedAt& seen, const std::vector<std::vector<std::size_t>>& groups);

// The sum of the members in each window.
[[nodiscard]] Track sum_of(const LookedAt& seen, const std::vector<std::size_t>& members);

}  // namespace foundling::relate
