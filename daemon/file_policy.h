// When a recording goes on in a new file, how many old ones stay, and how much of the disk is left
// alone. And the names of rolled files: NAME-YYYYMMDDTHHMMSSZ.capture beside NAME.capture, which is
// then a link to the present one. Pure.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

namespace foundling {

struct FilePolicy {
  std::uint64_t roll_bytes = 0;     // 0: never because of its size
  std::int64_t roll_after_ns = 0;   // 0: never because of its age
  std::size_t keep = 0;             // files, the present one counted; 0: all stay
  std::uint64_t reserve_bytes = 0;  // of the disk, never written into

  [[nodiscard]] bool rolls() const { return roll_bytes > 0 || roll_after_ns > 0; }
  [[nodiscard]] bool roll_due(std::uint64_t bytes, std::int64_t age_ns) const {
    return (roll_bytes > 0 && bytes >= roll_bytes) ||
           (roll_after_ns > 0 && age_ns >= roll_after_ns);
  }
};

// The name of a file that begins at this time; `attempt` > 0 where that one is taken.
[[nodiscard]] std::filesystem::path rolled_path(const std::filesystem::path& base,
                                                std::int64_t utc_ns, int attempt);
// Whether `name` (without folder) is one that rolled_path makes for this base.
[[nodiscard]] bool is_rolled_name(const std::filesystem::path& base, std::string_view name);

}  // namespace foundling
