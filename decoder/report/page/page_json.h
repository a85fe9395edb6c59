// The page's data as one JSON text, which the page's scripts draw. Its shape is nobody's contract:
// page and data are made and used together. At most about `most_bytes` of time series, by making
// their steps longer, never by leaving values out.
#pragma once

#include <cstddef>
#include <string>

#include "decoder/report/page/page_input.h"

namespace foundling {

inline constexpr std::size_t page_series_bytes = 4'500'000;

[[nodiscard]] std::string page_json(const PageInput& input,
                                    std::size_t most_bytes = page_series_bytes);

}  // namespace foundling
