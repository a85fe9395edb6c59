// What stands where a file is to be written, and whether it may be written over. Recorded data
// never is: a database is told by what it begins with, whatever it is called.
#pragma once

#include <string>

#include "schemas/values/result.h"

namespace foundling {

// Through a symbolic link the file it points to is written, not the link.
[[nodiscard]] std::string target_of(const std::string& path);

// Refuses a capture (any SQLite database, its log or its journal), a file that cannot be looked
// into, and what is no regular file. Nothing there is good.
[[nodiscard]] Result<void> check_not_recorded(const std::string& path);

// check_not_recorded, and a folder that is there and takes new files. Writes nothing.
[[nodiscard]] Result<void> check_replaceable(const std::string& path);

// "NAME: WHAT: reason", with errno.
[[nodiscard]] Error file_trouble(const std::string& name, const std::string& what);

}  // namespace foundling
