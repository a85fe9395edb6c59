// When a recording goes on in a new file, how many old ones stay, and how much of the disk is left
// alone. And the names of rolled files: NAME-000001.capture and so on beside NAME.capture, which is
// then a link to the present one. Numbers, for a clock that is set back would mix up times. Pure.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
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

// The n-th file of a recording, n from 1.
[[nodiscard]] std::filesystem::path rolled_path(const std::filesystem::path& base,
                                                std::uint64_t number);
// The number in `name` (without folder), if it is one that rolled_path makes for this base.
[[nodiscard]] std::optional<std::uint64_t> rolled_number(const std::filesystem::path& base,
                                                         std::string_view name);

}  // namespace foundling
