// Three versions of a list of lines into one: what one side changed since the base is taken, and
// what both changed differently is ours, with theirs beside it as a comment. Of a signal that only
// one side has confirmed or refuted, that side's lines are taken whole. Knows nothing about whether
// the lines fit together: merge_maps.h does.
#pragma once

#include <string>
#include <vector>

#include "schemas/signals/document.h"

namespace foundling {

struct MergeRemark {
  bool conflict = true;  // false: a confirmed signal stayed, and what contradicts it is beside it
  std::string where;     // the signal's name, the message's line, or the line itself
  std::string text;      // as in the comment, without its '#'
};

struct MergedNodes {
  std::vector<Node> nodes;
  std::vector<MergeRemark> remarks;
};

[[nodiscard]] MergedNodes merge_nodes(const std::vector<Node>& base, const std::vector<Node>& ours,
                                      const std::vector<Node>& theirs);

}  // namespace foundling
