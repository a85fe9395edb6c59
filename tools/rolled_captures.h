// The file that a rolled recording was in before this one. By the recorder's own note in it, not by
// names alone.
#pragma once

#include <filesystem>
#include <optional>

namespace foundling {

// The file that the name of a rolling recording leads to at this moment; of any other, the name.
[[nodiscard]] std::filesystem::path behind(const std::filesystem::path& name);

// Nothing where `file` did not begin by rolling over, or the one before was removed.
[[nodiscard]] std::optional<std::filesystem::path> rolled_from(const std::filesystem::path& file);

// The file with the number before this one's, if it is there: of the same recording, but where it
// has no note of rolling over, of a recorder that was started anew.
[[nodiscard]] std::optional<std::filesystem::path> numbered_before(
    const std::filesystem::path& file);

}  // namespace foundling
