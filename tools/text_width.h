// How wide text may be: what COLUMNS in the environment says, else the terminal behind the stream,
// else 80 (a file, a pipe); never so few that tables fall apart.
#pragma once

#include <cstddef>

namespace foundling {

[[nodiscard]] std::size_t text_width(int file);  // columns

}  // namespace foundling
