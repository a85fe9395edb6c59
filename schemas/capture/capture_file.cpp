#include "schemas/capture/capture_file.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <string>
#include <system_error>

namespace foundling::capture_file {
namespace {

namespace fs = std::filesystem;

Error system_error(const fs::path& path) {
  const ErrorCode code = errno == ENOENT ? ErrorCode::not_found : ErrorCode::io;
  return {code, path.string() + ": cannot open: " + std::strerror(errno)};
}

}  // namespace

Result<void> check_name(const fs::path& path) {
  std::error_code failed;
  const fs::file_status status = fs::status(path, failed);
  if (fs::is_directory(status)) {
    return Error{ErrorCode::format, path.string() + ": a folder, not a capture"};
  }
  // Of a name that is too long, or behind a loop of links, the kernel has the better words.
  const bool other = fs::exists(status) && !fs::is_regular_file(status);
  if (other) return Error{ErrorCode::format, path.string() + ": no regular file, not a capture"};
  if (::access(path.c_str(), R_OK) != 0) return system_error(path);
  if (fs::file_size(path, failed) == 0) {
    return Error{ErrorCode::format, path.string() + ": empty file, not a capture"};
  }
  return {};
}

Result<std::optional<fs::path>> set_log_aside(const fs::path& path) {
  const fs::path log = path.string() + "-wal";
  std::error_code failed;
  const bool there = fs::is_regular_file(fs::symlink_status(log, failed));
  if (!there || fs::file_size(log, failed) == 0) return std::optional<fs::path>();
  for (int number = 1; number < 10'000; ++number) {
    const fs::path aside = log.string() + ".left-" + std::to_string(number);
    // What is there already is never overwritten.
    if (::renameat2(AT_FDCWD, log.c_str(), AT_FDCWD, aside.c_str(), RENAME_NOREPLACE) == 0) {
      return std::optional(aside);
    }
    if (errno != EEXIST) return system_error(aside);
  }
  return Error{ErrorCode::exists, log.string() + ": too many logs left behind beside it"};
}

Result<void> sync_to_disk(const fs::path& path) {
  const int file = ::open(path.c_str(), O_RDWR | O_CLOEXEC);
  if (file < 0) return system_error(path);
  const bool done = ::fsync(file) == 0;
  ::close(file);
  if (!done) return system_error(path);
  return {};
}

}  // namespace foundling::capture_file
