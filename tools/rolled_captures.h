// The file that a rolled recording was in before this one. By the recorder's own note in it, not by
// names alone.
#pragma once

#include <filesystem>
#include <optional>

namespace foundling {

// Nothing where `file` did not begin by rolling over, or the one before was removed.
[[nodiscard]] std::optional<std::filesystem::path> rolled_from(const std::filesystem::path& file);

}  // namespace foundling
