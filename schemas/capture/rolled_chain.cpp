#include "schemas/capture/rolled_chain.h"

#include <charconv>
#include <system_error>

namespace foundling {
namespace {

constexpr std::string_view beginning = "rolled over: the recording goes on in ";

struct Numbered {
  std::string_view recording;  // with its dash
  unsigned long long number = 0;
  std::string_view extension;
};

// NAME-000007.capture
std::optional<Numbered> numbered(std::string_view name) {
  const std::size_t dot = name.rfind('.');
  const std::size_t dash = name.rfind('-', dot);
  if (dot == std::string_view::npos || dash == std::string_view::npos) return {};
  if (name.find('/') != std::string_view::npos) return {};
  Numbered parts{name.substr(0, dash + 1), 0, name.substr(dot)};
  const char* const first = name.data() + dash + 1;
  const char* const last = name.data() + dot;
  const auto [end, failure] = std::from_chars(first, last, parts.number);
  if (failure != std::errc() || end != last || first == last) return {};
  return parts;
}

}  // namespace

std::string rolled_over_note(const std::filesystem::path& next) {
  return std::string(beginning) + next.filename().string();
}

bool is_rolled_over_note(std::string_view note) { return note.starts_with(beginning); }

bool is_file_itself(const std::filesystem::path& path) {
  std::error_code failed;
  return std::filesystem::is_regular_file(std::filesystem::symlink_status(path, failed));
}

std::optional<std::filesystem::path> rolled_over_to(const std::filesystem::path& file,
                                                    std::string_view note) {
  if (!is_rolled_over_note(note)) return {};
  const std::string here = file.filename().string();
  const std::string_view there = note.substr(beginning.size());
  const auto from = numbered(here), to = numbered(there);
  const bool onward = from && to && from->recording == to->recording &&
                      from->extension == to->extension && to->number > from->number;
  if (!onward) return {};
  std::filesystem::path next = file.parent_path() / there;
  if (!is_file_itself(next)) return {};
  return next;
}

}  // namespace foundling
