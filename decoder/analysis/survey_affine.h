// The affine relations over GF(2) that hold in every frame, found by elimination. The bits of a
// cyclic redundancy check, or of an exclusive-or, are affine functions of the other bits; nearly
// nothing else in a payload is. A filter: which function it is, another part finds and proves.
#pragma once

#include <vector>

#include "decoder/analysis/survey_rows.h"

namespace foundling {

class AffineRelations {
 public:
  // The rows differ from one another: equal ones say nothing new. `group` may add one column per
  // value of a field (a counter): then any function of that field alone may take part, such as a
  // list of hidden constants picked by the counter.
  explicit AffineRelations(const SurveyRows& rows, const Span* group = nullptr);

  [[nodiscard]] bool none() const { return relations_.empty(); }
  // Whether each moving bit of the span follows from bits outside it. At least one bit moves.
  [[nodiscard]] bool determine(const Span& span) const;

 private:
  std::vector<BitMask> relations_;  // bits that take part; the constant and the group are dropped
  BitMask moved_;
};

}  // namespace foundling
