#include "schemas/capture/capture_file.h"

#include <fcntl.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <string>
#include <string_view>
#include <system_error>

namespace foundling::capture_file {
namespace {

constexpr std::string_view sqlite_magic("SQLite format 3\0", 16);

Error system_error(const std::filesystem::path& path) {
  const ErrorCode code = errno == ENOENT ? ErrorCode::not_found : ErrorCode::io;
  return {code, path.string() + ": cannot open: " + std::strerror(errno)};
}

}  // namespace

Result<void> check_header(const std::filesystem::path& path) {
  std::error_code ignored;
  if (std::filesystem::is_directory(path, ignored)) {
    return Error{ErrorCode::format, path.string() + ": a folder, not a capture"};
  }
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0) return system_error(path);
  std::array<char, 16> start{};
  const ssize_t got = ::read(file, start.data(), start.size());
  ::close(file);
  if (got < 0) return system_error(path);
  if (got == 0) return Error{ErrorCode::format, path.string() + ": empty file, not a capture"};
  if (std::string_view(start.data(), static_cast<std::size_t>(got)) != sqlite_magic) {
    return Error{ErrorCode::format,
                 path.string() + ": not a capture: byte 0: expected \"SQLite format 3\""};
  }
  return {};
}

Result<void> sync_to_disk(const std::filesystem::path& path) {
  const int file = ::open(path.c_str(), O_RDWR | O_CLOEXEC);
  if (file < 0) return system_error(path);
  const bool done = ::fsync(file) == 0;
  ::close(file);
  if (!done) return system_error(path);
  return {};
}

}  // namespace foundling::capture_file
