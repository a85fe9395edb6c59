// The capture as a file: told by its first bytes, and pushed to the disk.
#pragma once

#include <filesystem>

#include "schemas/values/result.h"

namespace foundling::capture_file {

// An error unless the file is there, readable and begins as every SQLite file does.
Result<void> check_header(const std::filesystem::path& path);

// Returns once the file's content is on the disk.
Result<void> sync_to_disk(const std::filesystem::path& path);

}  // namespace foundling::capture_file
