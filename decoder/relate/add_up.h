// Which of a group of fields add up to a total, all with one weight. Weights of their own would
// leave as many unknowns as there are fields; with one weight there is a yes or a no for each.
#pragma once

#include <cstddef>
#include <vector>

namespace foundling::relate {

// Sums of products of differences: of the total, of each field with it, of fields with each other.
struct Products {
  double yy = 0;
  std::vector<double> xy;
  std::vector<std::vector<double>> xx;
  double n = 0;  // steps
};

// Rows that are not in `use` are left out.
[[nodiscard]] Products products_of(const std::vector<std::vector<double>>& moves,
                                   const std::vector<double>& y, const std::vector<bool>& use);

// What a sum is looked for in.
struct Candidates {
  std::vector<std::size_t> fields;
  std::vector<bool> alike;                         // as fields
  std::vector<bool> near;                          // likewise: alike but for their level
  std::vector<std::vector<std::size_t>> overlaps;  // likewise: indices of others in the same bits
};

// Fields whose sum explains the total best. Alike ones are members and others are not, unless the
// opposite pays. `floor`: the share of yy that errors leave.
[[nodiscard]] std::vector<std::size_t> add_up(const Products& products,
                                              const Candidates& candidates, double floor);

// Its weight by its own motion, beside the others' common one.
struct OwnWeight {
  double common = 0;
  double own = 0;
  double deviation = 0;  // of `own`; 0: not known at all
};
[[nodiscard]] OwnWeight own_weight(const Products& products,
                                   const std::vector<std::size_t>& members, std::size_t one,
                                   double floor);

}  // namespace foundling::relate
