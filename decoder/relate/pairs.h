// Relations between single fields: one is another's copy, the product of two, or adds one up.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "decoder/relate/looked_at.h"

namespace foundling::relate {

enum class PairKind : std::uint8_t {
  copy,      // the same number, sent twice: noise and all
  alike,     // go together over steps; each has its own noise, or none is seen
  product,   // of `of` and `other`, each plus a constant
  integral,  // adds `of` up
};

struct PairRelation {
  PairKind kind = PairKind::copy;
  std::size_t field = 0;
  std::size_t of = 0;
  std::size_t other = 0;  // of a product
  double factor = 0;      // codes; of an integral a second
  double delay_s = 0;     // of a copy: `field` comes after `of`
  double r2 = 0;
  std::size_t steps = 0;
  double chance = 1;
  bool strong = false;
};

// `skip`: one a field; such as are explained by something else already.
[[nodiscard]] std::vector<PairRelation> find_copies(const LookedAt& seen,
                                                    const std::vector<bool>& skip);
[[nodiscard]] std::vector<PairRelation> find_products(const LookedAt& seen,
                                                      const std::vector<bool>& skip);
[[nodiscard]] std::vector<PairRelation> find_integrals(const LookedAt& seen,
                                                       const std::vector<bool>& skip);

}  // namespace foundling::relate
