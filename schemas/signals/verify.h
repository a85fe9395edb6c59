// What a map's lines say against each other: overlapping fields on one page, fields outside the
// length, names twice, codes too wide, series that run out of their bytes or pages.
#pragma once

#include <vector>

#include "schemas/signals/document.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

// Of a tree that build_map made `map` of and had nothing to report about.
[[nodiscard]] std::vector<Diagnostic> verify_map(const Document& document, const SignalMap& map);

// Whether neither build_map nor verify_map has an error to report.
[[nodiscard]] bool is_faultless(const Document& document);

}  // namespace foundling
