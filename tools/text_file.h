// Text files whole: read them, tell them apart by content, replace them without a moment in which
// there is half a file.
#pragma once

#include <string>
#include <string_view>

#include "schemas/values/result.h"

namespace foundling {

// "-" is stdin. Refuses what is no regular text of at most 64 MB.
[[nodiscard]] Result<std::string> read_text_file(const std::string& path);

// As tools/files/new_file.h says: whole or not at all, never over a capture.
[[nodiscard]] Result<void> replace_text_file(const std::string& path, std::string_view text);

}  // namespace foundling
