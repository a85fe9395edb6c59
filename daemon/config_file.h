// The configuration file: TOML (toml.io), the same settings as on the command line.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/options.h"

namespace foundling {

// Fills `options` with what the file says. Every fault as "FILE:LINE:COLUMN: error: ..."; none: the
// file is good.
std::vector<std::string> read_config_file(const std::filesystem::path& path, Options& options);
// The same on its text. Pure.
std::vector<std::string> read_config(std::string_view text, const std::string& name,
                                     Options& options);

}  // namespace foundling
