// Fields that may be the same quantity of many like parts: near one level, of like noise, in
// messages of one bus.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "decoder/relate/fields.h"

namespace foundling::relate {

// Indices into `fields`, ascending: by bus, message, page and place. Larger groups first.
[[nodiscard]] std::vector<std::vector<std::size_t>> alike_groups(std::span<const Field> fields);

}  // namespace foundling::relate
