// The capture as a file among others: told by its name before it is opened, pushed to the disk, and
// its log kept from being taken for another's.
#pragma once

#include <filesystem>
#include <optional>

#include "schemas/values/result.h"

namespace foundling::capture_file {

// An error unless a regular file that can be read is there. Looks, and opens nothing: closing a
// handle of a capture would take away the SQLite locks that this process has on it.
Result<void> check_name(const std::filesystem::path& path);

// A log without its capture: that was moved away, and a new one of the name would throw the log
// away, with all frames in it. Gets a name of its own beside; which, if there was one.
Result<std::optional<std::filesystem::path>> set_log_aside(const std::filesystem::path& path);

// Returns once the file's content is on the disk.
Result<void> sync_to_disk(const std::filesystem::path& path);

}  // namespace foundling::capture_file
