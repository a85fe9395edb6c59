// How the files of a recording that rolled over name each other: by a note in the last health row
// of a finished file. A note may have been written by anybody: it leads to a file of the same
// recording in the same folder, or nowhere.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

namespace foundling {

// The note of a file that goes on in `next`.
[[nodiscard]] std::string rolled_over_note(const std::filesystem::path& next);
[[nodiscard]] bool is_rolled_over_note(std::string_view note);

// Where the recording goes on after `file`, whose last health row has this note:
// NAME-000008.capture after NAME-000007.capture, never a link.
[[nodiscard]] std::optional<std::filesystem::path> rolled_over_to(const std::filesystem::path& file,
                                                                  std::string_view note);

// Whether a file of that name is there itself, and no link to another.
[[nodiscard]] bool is_file_itself(const std::filesystem::path& path);

}  // namespace foundling
