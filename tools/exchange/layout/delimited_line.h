// The fields of one line of a table that another program wrote: by any separator, with or without
// quotation marks around fields that hold it. Fields are views into the line, blanks around them
// taken off.
#pragma once

#include <string_view>
#include <vector>

namespace foundling {

inline constexpr std::size_t most_layout_columns = 256;

// With a blank as separator, runs of blanks and tabs are one. Fields beyond most_layout_columns are
// left out.
[[nodiscard]] std::vector<std::string_view> fields_of(std::string_view line, char separator);

}  // namespace foundling
