// A signal map as JSON and back, without loss: the same tree, an object a line, comments and blank
// lines among them. For programs that edit maps; `foundling signals list --json` is the easier form
// for those that only read.
#pragma once

#include <string>
#include <string_view>

#include "schemas/signals/document.h"
#include "schemas/values/result.h"

namespace foundling {

[[nodiscard]] std::string json_of(const Document& document);

// A map without faults. An error names the place: line and column where it is no JSON, else the
// path of the member ("lines[2].lines[0].scale"); `name` is the file's.
[[nodiscard]] Result<Document> document_from_json(std::string_view text, const std::string& name);

}  // namespace foundling
