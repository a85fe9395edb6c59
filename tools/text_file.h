// Text files whole: read them, tell them apart by content, replace them without a moment in which
// there is half a file.
#pragma once

#include <string>
#include <string_view>

#include "schemas/values/result.h"

namespace foundling {

// "-" is stdin. Refuses what is no regular text of at most 64 MB.
[[nodiscard]] Result<std::string> read_text_file(const std::string& path);

// Writes beside the file and renames over it, with the file's permissions. On an error the file is
// as it was.
[[nodiscard]] Result<void> replace_text_file(const std::string& path, std::string_view text);

// Whether replace_text_file could do its work there: a folder that exists and takes new files, and
// no folder in the file's place. Writes nothing.
[[nodiscard]] Result<void> check_replaceable(const std::string& path);

}  // namespace foundling
