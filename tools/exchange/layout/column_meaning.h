// What a column's heading says that it holds, in the words that loggers use for it.
#pragma once

#include <optional>
#include <string_view>

#include "tools/exchange/layout/table_layout.h"

namespace foundling {

enum class ColumnMeaning { unknown, time, bus, identifier, extended, length, data };

// "Time [ms]", "ID (hex)", "DLC", "Byte 3".
[[nodiscard]] ColumnMeaning meaning_of(std::string_view heading);
// The unit of time in a heading: "Time [ms]", "t_us".
[[nodiscard]] std::optional<LayoutTime> time_unit_in(std::string_view heading);

}  // namespace foundling
