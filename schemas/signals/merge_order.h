// In which order the lines of two versions stand when they are put together.
#pragma once

#include <string_view>
#include <unordered_map>
#include <vector>

#include "schemas/signals/node_list.h"

namespace foundling {

// What becomes of each key that stays; the keys are those of items, which have to outlive it.
using LinesByKey = std::unordered_map<std::string_view, std::vector<Node>>;

// Common lines stand as in ours, or as in theirs where only theirs moved them; lines of one version
// stay behind the line that they were behind.
// Where both versions added lines at one place, the order of their text decides, so that it does
// not matter whose they are.
[[nodiscard]] std::vector<Node> in_order(const std::vector<Item>& base,
                                         const std::vector<Item>& ours,
                                         const std::vector<Item>& theirs, LinesByKey lines);

}  // namespace foundling
