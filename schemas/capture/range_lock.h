// Locks on one byte of a file that the kernel releases with the handle (fcntl(2), "Open file
// description locks"). For writing only, which needs a handle that may write: whoever may only read
// the file can lock it for reading, is told apart by that, and keeps no recorder out.
#pragma once

#include <cstdint>

namespace foundling::range_lock {

// SQLite locks bytes from 2^30 on (https://www.sqlite.org/fileformat2.html, "the lock-byte page");
// these lie beyond all that a capture can hold.
inline constexpr std::int64_t recorder_of_file = std::int64_t{1} << 62U;
inline constexpr std::int64_t recorder_of_name = 0;  // of a lock file, which has no content

enum class Taken : std::uint8_t { ours, by_a_reader, by_a_writer, not_possible };

// Does not wait.
Taken take(int file, std::int64_t byte);
// Whether somebody else has it for writing. Asks only, so that two who ask do not meet.
bool is_taken(int file, std::int64_t byte);

}  // namespace foundling::range_lock
