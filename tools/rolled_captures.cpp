#include "tools/rolled_captures.h"

#include <algorithm>
#include <string>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/rolled_chain.h"

namespace foundling {
namespace {

// NAME-000007.capture to NAME-000006.capture; empty where the name has no such number.
std::string name_before(const std::string& name) {
  const std::size_t dot = name.rfind('.');
  const std::size_t dash = name.rfind('-', dot);
  if (dot == std::string::npos || dash == std::string::npos || dash + 1 == dot) return {};
  std::string number = name.substr(dash + 1, dot - dash - 1);
  const bool digits = std::ranges::all_of(number, [](char c) { return c >= '0' && c <= '9'; });
  if (!digits || number.size() > 12) return {};
  const std::size_t width = number.size();
  const long long before = std::stoll(number) - 1;
  if (before < 1) return {};
  number = std::to_string(before);
  if (number.size() < width) number.insert(0, width - number.size(), '0');
  return name.substr(0, dash + 1) + number + name.substr(dot);
}

}  // namespace

std::filesystem::path behind(const std::filesystem::path& name) {
  std::error_code failure;
  if (!std::filesystem::is_symlink(name, failure)) return name;
  std::filesystem::path file = std::filesystem::canonical(name, failure);
  return failure ? name : file;
}

std::optional<std::filesystem::path> numbered_before(const std::filesystem::path& file) {
  const std::string name = name_before(file.filename().string());
  if (name.empty()) return {};
  std::filesystem::path before = file.parent_path() / name;
  if (!is_file_itself(before)) return {};  // a link may lead out of the folder
  return before;
}

std::optional<std::filesystem::path> rolled_from(const std::filesystem::path& file) {
  auto before = numbered_before(file);
  if (!before) return {};
  auto reader = CaptureReader::open(*before);
  if (!reader) return {};
  const auto sessions = reader->sessions();
  if (!sessions || sessions->empty()) return {};
  const auto last = reader->last_health(sessions->back().id);
  if (!last || !*last || (*last)->note != rolled_over_note(file)) {
    return {};
  }
  return before;
}

}  // namespace foundling
