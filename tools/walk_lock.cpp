#include "tools/walk_lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <string>
#include <utility>

namespace foundling {
namespace {

constexpr mode_t ours_alone = 0600;

// The last walk removes the file; whoever had it open then locked a file without a name.
bool is_named(int file, const std::filesystem::path& path) {
  struct stat opened {};
  struct stat named {};
  return fstat(file, &opened) == 0 && lstat(path.c_str(), &named) == 0 &&
         opened.st_ino == named.st_ino && opened.st_dev == named.st_dev;
}

}  // namespace

Result<WalkLock> WalkLock::take(const std::filesystem::path& capture) {
  WalkLock lock;
  lock.path_ = capture;
  lock.path_ += ".walking";
  for (;;) {
    const int file = ::open(lock.path_.c_str(),
                            O_RDWR | O_CREAT | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC, ours_alone);
    if (file < 0) {
      return Error{ErrorCode::io, lock.path_.string() + ": " + std::strerror(errno)};
    }
    if (flock(file, LOCK_EX | LOCK_NB) != 0) {
      const bool busy = errno == EWOULDBLOCK;
      const Error why{ErrorCode::io, lock.path_.string() + ": " + std::strerror(errno)};
      ::close(file);
      if (!busy) return why;
      return Error{ErrorCode::busy, capture.string() +
                                        ": another walk is at work on this capture; quit it first, "
                                        "or go on there"};
    }
    if (is_named(file, lock.path_)) {
      lock.file_ = file;
      return lock;
    }
    ::close(file);
  }
}

WalkLock::WalkLock(WalkLock&& other) noexcept
    : file_(std::exchange(other.file_, -1)), path_(std::move(other.path_)) {}

WalkLock& WalkLock::operator=(WalkLock&& other) noexcept {
  std::swap(file_, other.file_);
  std::swap(path_, other.path_);
  return *this;
}

WalkLock::~WalkLock() {
  if (file_ < 0) return;
  if (is_named(file_, path_)) ::unlink(path_.c_str());  // while still locked
  ::close(file_);
}

}  // namespace foundling
