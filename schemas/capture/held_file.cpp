#include "schemas/capture/held_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <string>
#include <system_error>
#include <utility>

#include "schemas/capture/range_lock.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;

fs::path beside(const fs::path& capture, const char* end) { return capture.string() + end; }

Error refused(const fs::path& capture, const char* why) {
  return {ErrorCode::io, capture.string() + ": cannot be held while recording: " + why};
}

}  // namespace

HeldFile::HeldFile(int file, fs::path path) : file_(file), path_(std::move(path)) {}

HeldFile::HeldFile(HeldFile&& other) noexcept
    : file_(std::exchange(other.file_, -1)),
      path_(std::move(other.path_)),
      log_(other.log_),
      index_(other.index_) {}

HeldFile& HeldFile::operator=(HeldFile&& other) noexcept {
  std::swap(file_, other.file_);
  std::swap(path_, other.path_);
  std::swap(log_, other.log_);
  std::swap(index_, other.index_);
  return *this;
}

HeldFile::~HeldFile() {
  if (file_ >= 0) ::close(file_);
}

Result<HeldFile> HeldFile::hold(const fs::path& capture) {
  std::error_code failed;
  const fs::path real = fs::canonical(capture, failed);
  if (failed) return refused(capture, failed.message().c_str());
  const int file = ::open(real.c_str(), O_RDWR | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
  if (file < 0) return refused(capture, std::strerror(errno));
  HeldFile held(file, real);
  struct stat about {};
  if (fstat(file, &about) != 0 || !S_ISREG(about.st_mode)) return refused(capture, "no file");
  // Readers may lock it for reading, which is no recorder, and nothing that need stop one.
  if (range_lock::take(file, range_lock::recorder_of_file) == range_lock::Taken::by_a_writer) {
    return Error{ErrorCode::busy, capture.string() +
                                      ": another recorder is writing to this file, maybe under "
                                      "another name"};
  }
  return held;
}

std::optional<HeldFile::Identity> HeldFile::identity_of(const fs::path& path) {
  struct stat about {};
  if (lstat(path.c_str(), &about) != 0) return std::nullopt;
  return Identity{about.st_dev, about.st_ino};
}

void HeldFile::note_log() {
  log_ = identity_of(beside(path_, "-wal"));
  index_ = identity_of(beside(path_, "-shm"));
}

bool HeldFile::log_is_beside(const fs::path& capture) const {
  return identity_of(beside(capture, "-wal")) == log_ &&
         identity_of(beside(capture, "-shm")) == index_;
}

FilePlace HeldFile::place() const {
  struct stat held {};
  if (fstat(file_, &held) != 0) return FilePlace::in_place;  // the disk is gone: others tell
  if (held.st_nlink == 0) return FilePlace::removed;
  if (identity_of(path_) != Identity{held.st_dev, held.st_ino}) return FilePlace::moved;
  return log_is_beside(path_) ? FilePlace::in_place : FilePlace::log_gone;
}

fs::path HeldFile::path_now() const {
  std::error_code failed;
  fs::path now = fs::read_symlink("/proc/self/fd/" + std::to_string(file_), failed);
  return failed ? path_ : now;
}

bool HeldFile::moved_with_folder() const {
  std::error_code failed;
  if (fs::exists(path_.parent_path(), failed)) return false;
  return log_is_beside(path_now());
}

void HeldFile::remove_log_left_behind() const {
  if (log_ && identity_of(beside(path_, "-wal")) == log_) ::unlink(beside(path_, "-wal").c_str());
  if (index_ && identity_of(beside(path_, "-shm")) == index_) {
    ::unlink(beside(path_, "-shm").c_str());
  }
}

}  // namespace foundling
