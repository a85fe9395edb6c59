// The way in: text to signal map, with everything that is wrong with it.
#pragma once

#include <string_view>
#include <vector>

#include "schemas/signals/diagnostic.h"
#include "schemas/signals/document.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

struct SignalText {
  Document document;                    // with its comments: for the formatter and the merge
  SignalMap map;                        // what it says: for the decoder
  std::vector<Diagnostic> diagnostics;  // errors and warnings, in no particular order

  // Only then are document and map whole.
  [[nodiscard]] bool ok() const { return !has_errors(diagnostics); }
};

[[nodiscard]] SignalText read_signals(std::string_view text);

}  // namespace foundling
