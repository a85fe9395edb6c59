// Two people's maps into one, with the map that both began with (three-way), or without one: then
// base is an empty document, and what both have differently is a conflict. What one side changed is
// taken; in a conflict our line stays and theirs is a comment beside it; what is confirmed on one
// side is never changed by the other. The result of maps without faults has none: what would bring
// one is left out and shown as comments.
#pragma once

#include <vector>

#include "schemas/signals/document.h"
#include "schemas/signals/merge_nodes.h"

namespace foundling {

struct MergedMaps {
  Document document;
  std::vector<MergeRemark> remarks;

  [[nodiscard]] bool has_conflicts() const;
};

// All three are trees of maps without faults (read_signals().ok()), or empty.
[[nodiscard]] MergedMaps merge_maps(const Document& base, const Document& ours,
                                    const Document& theirs);

}  // namespace foundling
