#include "schemas/capture/regular_open.h"

#include <fcntl.h>
#include <sqlite3.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>

namespace foundling::capture_file {
namespace {

// Folders too, for reading: SQLite syncs the one that a log was made in.
bool is_for_us(const struct stat& about, int flags) {
  if (S_ISREG(about.st_mode)) return true;
  return S_ISDIR(about.st_mode) && (flags & O_ACCMODE) == O_RDONLY;
}

// Looked at after it is open and not before, so that nobody can put another in its place meanwhile.
int open_regular(const char* path, int flags, int mode) {
  const int file = ::open(path, flags | O_NONBLOCK | O_NOCTTY, mode);
  if (file < 0) return file;
  struct stat about {};
  if (fstat(file, &about) == 0 && is_for_us(about, flags)) return file;
  ::close(file);
  errno = ENXIO;
  return -1;
}

}  // namespace

void open_regular_files_only() {
  static const bool done = [] {
    sqlite3_vfs* const disk = sqlite3_vfs_find("unix");
    if (disk == nullptr || disk->iVersion < 3) return false;
    return disk->xSetSystemCall(disk, "open",
                                reinterpret_cast<sqlite3_syscall_ptr>(open_regular)) == SQLITE_OK;
  }();
  (void)done;
}

}  // namespace foundling::capture_file
