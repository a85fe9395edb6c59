#include "schemas/capture/recording_lock.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <string>
#include <utility>

#include "schemas/capture/range_lock.h"

namespace foundling {
namespace {

constexpr mode_t readable_by_all = 0644;  // so that everybody can ask whether it is held
constexpr int carefully = O_NOFOLLOW | O_NONBLOCK | O_NOCTTY | O_CLOEXEC;

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
  return fstat(file, &opened) == 0 && lstat(path.c_str(), &named) == 0 &&
         opened.st_ino == named.st_ino && opened.st_dev == named.st_dev;
}

// A plain file with this one name: another's lock under a second name would say nothing here.
bool is_plain(int file) {
  struct stat about {};
  return fstat(file, &about) == 0 && S_ISREG(about.st_mode) && about.st_nlink <= 1;
}

Error refused(const std::filesystem::path& path) {
  return {ErrorCode::io, path.string() + ": " + std::strerror(errno)};
}

}  // namespace

// Puts a locked file of our own in the place of what is there: left by a recorder of another user,
// or held by somebody who is none.
Result<int> RecordingLock::replace(const std::filesystem::path& path) {
  std::string fresh = path.string() + ".XXXXXX";
  const int file = mkostemp(fresh.data(), O_CLOEXEC);
  if (file < 0) return refused(path);
  const bool done =
      fchmod(file, readable_by_all) == 0 &&
      range_lock::take(file, range_lock::recorder_of_name) == range_lock::Taken::ours &&
      ::rename(fresh.c_str(), path.c_str()) == 0;
  if (done) return file;
  Error why = refused(path);
  ::unlink(fresh.c_str());
  ::close(file);
  return why;
}

// The file, locked; -1: it was removed while it was being locked, so it is to be tried again.
Result<int> RecordingLock::try_once(const std::filesystem::path& path) {
  int file = ::open(path.c_str(), O_RDWR | O_CREAT | carefully, readable_by_all);
  const bool not_ours = file < 0 && (errno == EACCES || errno == ELOOP);
  if (file < 0 && !not_ours) return refused(path);
  if (not_ours) file = ::open(path.c_str(), O_RDONLY | carefully);
  if (file < 0) return replace(path);
  auto taken = range_lock::Taken::by_a_reader;
  if (!not_ours && is_plain(file)) {
    taken = range_lock::take(file, range_lock::recorder_of_name);
  } else if (is_plain(file) && range_lock::is_taken(file, range_lock::recorder_of_name)) {
    taken = range_lock::Taken::by_a_writer;
  }
  if (taken == range_lock::Taken::ours && is_same_file(file, path)) return file;
  Error why = refused(path);  // before closing changes what went wrong
  ::close(file);
  switch (taken) {
    case range_lock::Taken::ours:
      return -1;
    case range_lock::Taken::by_a_reader:
      return replace(path);
    case range_lock::Taken::by_a_writer:
      return Error{ErrorCode::busy, {}};
    case range_lock::Taken::not_possible:
      break;
  }
  return why;
}

Result<RecordingLock> RecordingLock::take(const std::filesystem::path& capture) {
  RecordingLock lock;
  lock.path_ = beside(capture);
  for (;;) {
    const auto file = try_once(lock.path_);
    if (!file && file.error().code == ErrorCode::busy) {
      return Error{ErrorCode::busy,
                   capture.string() + ": another recorder is writing to this capture"};
    }
    if (!file) return file.error();
    if (*file < 0) continue;
    lock.file_ = *file;
    return lock;
  }
}

bool RecordingLock::is_held(const std::filesystem::path& capture) {
  const int file = ::open(beside(capture).c_str(), O_RDONLY | carefully);
  if (file < 0) return false;
  const bool held = range_lock::is_taken(file, range_lock::recorder_of_name);
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
  // While still locked: the next one makes its own. Another's, in its place by now, stays.
  if (is_same_file(file_, path_)) ::unlink(path_.c_str());
  ::close(file_);
}

}  // namespace foundling
