#include "tools/files/target.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <optional>
#include <string_view>

namespace foundling {
namespace {

using namespace std::string_view_literals;

// SQLite's "Database File Format": the database's header string (1.3.1), the rollback journal's
// (3), and the write-ahead log's two magic numbers (4.1).
constexpr std::array<std::string_view, 4> recorded = {"SQLite format 3\0"sv,
                                                      "\xd9\xd5\x05\xf9\x20\xa1\x63\xd7"sv,
                                                      "\x37\x7f\x06\x82"sv, "\x37\x7f\x06\x83"sv};

// What SQLite keeps beside a database that is open.
constexpr std::array<std::string_view, 3> companions = {"-wal", "-shm", "-journal"};

// Nothing: it could not be told. Errno says why.
std::optional<bool> begins_as_recorded(const std::string& target) {
  // Not blocking: somebody may have put a pipe there since.
  const int file = ::open(target.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (file < 0) return std::nullopt;
  std::array<char, 16> start{};
  const ssize_t got = ::pread(file, start.data(), start.size(), 0);
  ::close(file);
  if (got < 0) return std::nullopt;
  const std::string_view text(start.data(), static_cast<std::size_t>(got));
  return std::ranges::any_of(
      recorded, [text](std::string_view start_of) { return text.starts_with(start_of); });
}

bool belongs_to_recorded(std::string_view target) {
  return std::ranges::any_of(companions, [target](std::string_view end) {
    return target.ends_with(end) &&
           begins_as_recorded(std::string(target.substr(0, target.size() - end.size())))
               .value_or(false);
  });
}

Error recorded_there(const std::string& path) {
  return {ErrorCode::exists,
          path + ": belongs to a capture or another database; recorded data is never written over"};
}

}  // namespace

Error file_trouble(const std::string& name, const std::string& what) {
  const int reason = errno;
  const ErrorCode code = reason == ENOENT   ? ErrorCode::not_found
                         : reason == ENOSPC ? ErrorCode::full
                                            : ErrorCode::io;
  return {code, name + ": " + what + ": " + std::strerror(reason)};
}

std::string target_of(const std::string& path) {
  std::error_code failure;
  std::string target = std::filesystem::weakly_canonical(path, failure).string();
  return failure || target.empty() ? path : target;
}

Result<void> check_not_recorded(const std::string& path) {
  const std::string target = target_of(path);
  if (belongs_to_recorded(target)) return recorded_there(path);
  struct stat there {};
  if (::stat(target.c_str(), &there) != 0) {
    if (errno == ENOENT) return {};
    return file_trouble(path, "cannot be written");
  }
  if (S_ISDIR(there.st_mode)) return Error{ErrorCode::usage, path + ": a folder, not a file"};
  if (!S_ISREG(there.st_mode)) {
    return Error{ErrorCode::io, path + ": cannot be written: it is no regular file"};
  }
  const auto is_recorded = begins_as_recorded(target);
  if (!is_recorded) return file_trouble(path, "cannot be looked into, and may be a recording");
  return *is_recorded ? recorded_there(path) : Result<void>{};
}

Result<void> check_replaceable(const std::string& path) {
  if (auto free = check_not_recorded(path); !free) return free;
  const std::filesystem::path parent = std::filesystem::path(target_of(path)).parent_path();
  const char* const folder = parent.empty() ? "." : parent.c_str();
  if (::access(folder, W_OK | X_OK) != 0) {
    return file_trouble(path, "cannot be written into its folder");
  }
  return {};
}

}  // namespace foundling
