// The files of a recording that rolls over: the link to the present one, and the old ones.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "schemas/capture/capture_writer.h"
#include "schemas/values/result.h"

namespace foundling {

// The present file behind `base`, or a new name where there is none yet. An error where `base` is
// something else than our link.
Result<std::filesystem::path> present_file(const std::filesystem::path& base);
// The name after the last one in the folder.
[[nodiscard]] std::filesystem::path next_file(const std::filesystem::path& base);
// Makes `base` a link to `file`, in one step, and on the disk when it returns. What lies there and
// is no link is left: an error.
Result<void> point_to(const std::filesystem::path& base, const std::filesystem::path& file);

// Removes the oldest finished files until `keep` are left, the present one counted. Only files that
// have a rolled name and were finished by rolling over; what was removed.
std::vector<std::filesystem::path> remove_oldest(const std::filesystem::path& base,
                                                 std::size_t keep);

// What was applied last and still holds, of the old file's session, into the new file's: at its
// true time, which is before the new session's start.
Result<void> carry_readings_over(const std::filesystem::path& old_file, std::int64_t old_session,
                                 std::int64_t shift_ns, CaptureWriter& into, std::int64_t session);

}  // namespace foundling
