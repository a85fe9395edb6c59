#include "schemas/capture/recording_lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstring>
#include <string>
#include <thread>
#include <utility>

namespace foundling {
namespace {

std::filesystem::path beside(const std::filesystem::path& capture) {
  // A recording that rolls over has a link for its name: the lock is beside what it leads to.
  std::error_code failure;
  std::filesystem::path path = capture;
  if (std::filesystem::is_symlink(capture, failure)) {
    path = std::filesystem::weakly_canonical(capture, failure);
  }
  path += ".recording";
  return path;
}

bool is_same_file(int file, const std::filesystem::path& path) {
  struct stat opened {};
  struct stat named {};
  return fstat(file, &opened) == 0 && stat(path.c_str(), &named) == 0 &&
         opened.st_ino == named.st_ino && opened.st_dev == named.st_dev;
}

}  // namespace

Result<RecordingLock> RecordingLock::take(const std::filesystem::path& capture) {
  RecordingLock lock;
  lock.path_ = beside(capture);
  for (int attempt = 1;; ++attempt) {
    const int file = ::open(lock.path_.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0644);
    if (file < 0) {
      return Error{ErrorCode::io, lock.path_.string() + ": " + std::strerror(errno)};
    }
    if (flock(file, LOCK_EX | LOCK_NB) != 0) {
      ::close(file);
      // Somebody who only asks (is_held) has the lock for a moment: ask again before giving up.
      if (attempt < 6) {
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
        continue;
      }
      return Error{ErrorCode::busy,
                   capture.string() + ": another recorder is writing to this capture"};
    }
    // The holder before may have removed the name between our open and our lock.
    if (is_same_file(file, lock.path_)) {
      lock.file_ = file;
      return lock;
    }
    ::close(file);
  }
}

bool RecordingLock::is_held(const std::filesystem::path& capture) {
  const int file = ::open(beside(capture).c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0) return false;
  // Shared, so that two who ask at once do not take each other for a recorder.
  const bool held = flock(file, LOCK_SH | LOCK_NB) != 0 && errno == EWOULDBLOCK;
  ::close(file);
  return held;
}

RecordingLock::RecordingLock(RecordingLock&& other) noexcept
    : file_(std::exchange(other.file_, -1)), path_(std::move(other.path_)) {}

RecordingLock& RecordingLock::operator=(RecordingLock&& other) noexcept {
  std::swap(file_, other.file_);
  std::swap(path_, other.path_);
  return *this;
}

RecordingLock::~RecordingLock() {
  if (file_ < 0) return;
  ::unlink(path_.c_str());  // while still locked: the next one makes its own
  ::close(file_);
}

}  // namespace foundling
