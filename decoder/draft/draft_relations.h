// Relations whose scale is known to findings for a signal map: every member of the sum, and the
// total. Their evidence begins with "by relation", which is weaker than a stimulus: what a map has
// from one is not touched.
#pragma once

#include "decoder/analysis/proposal.h"
#include "decoder/relate/relate.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

// As draft_map takes them; none without a scale. Members are called cell_01 ... in order of the
// bus. Left out are places of which `known` says something that no relation said.
[[nodiscard]] Correlation draft_relations(const relate::Relations& found,
                                          const SignalMap& known = {});

}  // namespace foundling
