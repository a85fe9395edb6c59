#include "daemon/file_policy.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <ctime>

namespace foundling {
namespace {

constexpr std::string_view stamp_form = "00000000T000000Z";  // 0 stands for any digit

bool is_stamp(std::string_view text) {
  if (text.size() < stamp_form.size()) return false;
  for (std::size_t i = 0; i < stamp_form.size(); ++i) {
    const bool digit = std::isdigit(static_cast<unsigned char>(text[i])) != 0;
    if (stamp_form[i] == '0' ? !digit : text[i] != stamp_form[i]) return false;
  }
  const std::string_view rest = text.substr(stamp_form.size());
  return rest.empty() || (rest.size() > 1 && rest.front() == '-' &&
                          std::ranges::all_of(rest.substr(1), [](unsigned char c) {
                            return std::isdigit(c) != 0;
                          }));
}

}  // namespace

std::filesystem::path rolled_path(const std::filesystem::path& base, std::int64_t utc_ns,
                                  int attempt) {
  const auto seconds = static_cast<std::time_t>(utc_ns / 1'000'000'000);
  std::tm parts{};
  gmtime_r(&seconds, &parts);
  std::array<char, 40> stamp{};
  std::strftime(stamp.data(), stamp.size(), "%Y%m%dT%H%M%SZ", &parts);
  std::string name = base.stem().string() + '-' + stamp.data();
  if (attempt > 0) name += '-' + std::to_string(attempt);
  return base.parent_path() / (name + base.extension().string());
}

bool is_rolled_name(const std::filesystem::path& base, std::string_view name) {
  const std::string start = base.stem().string() + '-';
  const std::string end = base.extension().string();
  if (name.size() < start.size() + end.size() || !name.starts_with(start) || !name.ends_with(end)) {
    return false;
  }
  return is_stamp(name.substr(start.size(), name.size() - start.size() - end.size()));
}

}  // namespace foundling
