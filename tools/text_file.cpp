#include "tools/text_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <filesystem>

namespace foundling {
namespace {

constexpr std::size_t most_bytes = std::size_t{64} << 20U;

Error trouble(const std::string& path, std::string_view what) {
  const int reason = errno;
  const ErrorCode code = reason == ENOENT ? ErrorCode::not_found : ErrorCode::io;
  return {code, path + ": " + std::string(what) + ": " + std::strerror(reason)};
}

class Handle {
 public:
  explicit Handle(int number) : number_(number) {}
  Handle(const Handle&) = delete;
  Handle& operator=(const Handle&) = delete;
  ~Handle() {
    if (number_ > STDERR_FILENO) ::close(number_);
  }
  [[nodiscard]] int get() const { return number_; }

 private:
  int number_;
};

bool write_all(int file, std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = ::write(file, text.data(), text.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) return false;
    text.remove_prefix(static_cast<std::size_t>(written));
  }
  return true;
}

// Through a symbolic link the file it points to is replaced, not the link.
std::string target_of(const std::string& path) {
  std::error_code failure;
  std::string target = std::filesystem::weakly_canonical(path, failure).string();
  return failure || target.empty() ? path : target;
}

}  // namespace

Result<std::string> read_text_file(const std::string& path) {
  const Handle file(path == "-" ? STDIN_FILENO : ::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  if (file.get() < 0) return trouble(path, "cannot be opened");
  std::string text;
  std::array<char, 65536> buffer{};
  while (true) {
    const ssize_t got = ::read(file.get(), buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return trouble(path, "cannot be read");
    if (got == 0) return text;
    text.append(buffer.data(), static_cast<std::size_t>(got));
    if (text.size() > most_bytes) {
      return Error{ErrorCode::format, path + ": larger than 64 MB, so it is not what belongs here"};
    }
  }
}

Result<void> check_replaceable(const std::string& path) {
  const std::string target = target_of(path);
  struct stat there {};
  if (::stat(target.c_str(), &there) == 0 && !S_ISREG(there.st_mode)) {
    return Error{ErrorCode::io, path + ": cannot be written: it is no regular file"};
  }
  const std::filesystem::path parent = std::filesystem::path(target).parent_path();
  const char* const folder = parent.empty() ? "." : parent.c_str();
  if (::access(folder, W_OK | X_OK) != 0) return trouble(path, "cannot be written into its folder");
  return {};
}

Result<void> replace_text_file(const std::string& path, std::string_view text) {
  const std::string target = target_of(path);
  std::string beside = target + ".XXXXXX";
  const Handle file(::mkostemp(beside.data(), O_CLOEXEC));
  if (file.get() < 0) return trouble(path, "cannot be written beside");
  struct stat old {};
  const bool exists = ::stat(target.c_str(), &old) == 0;
  const mode_t mask = ::umask(0);
  ::umask(mask);
  const mode_t mode = exists ? old.st_mode & 07777U : 0666U & ~mask;
  const bool good = write_all(file.get(), text) && ::fchmod(file.get(), mode) == 0 &&
                    ::fsync(file.get()) == 0 && std::rename(beside.c_str(), target.c_str()) == 0;
  if (good) return {};
  Error error = trouble(path, "cannot be written");
  ::unlink(beside.c_str());
  return error;
}

}  // namespace foundling
