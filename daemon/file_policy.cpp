#include "daemon/file_policy.h"

#include <algorithm>
#include <charconv>

namespace foundling {
namespace {

constexpr std::size_t least_digits = 6;

}  // namespace

std::filesystem::path rolled_path(const std::filesystem::path& base, std::uint64_t number) {
  std::string digits = std::to_string(number);
  digits.insert(0, least_digits - std::min(least_digits, digits.size()), '0');
  return base.parent_path() / (base.stem().string() + '-' + digits + base.extension().string());
}

std::optional<std::uint64_t> rolled_number(const std::filesystem::path& base,
                                           std::string_view name) {
  const std::string start = base.stem().string() + '-';
  if (!name.starts_with(start)) return {};
  std::uint64_t number = 0;
  const char* const digits = name.data() + start.size();
  const auto read = std::from_chars(digits, name.data() + name.size(), number);
  // Written back it must be the same: no other spelling is ours.
  if (read.ec != std::errc() || number == 0) return {};
  if (rolled_path(base, number).filename().string() != name) return {};
  return number;
}

}  // namespace foundling
