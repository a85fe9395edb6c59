#include "schemas/capture/range_lock.h"

#include <fcntl.h>

#include <cerrno>

namespace foundling::range_lock {
namespace {

struct flock on(std::int64_t byte, short kind) {
  struct flock wanted {};
  wanted.l_type = kind;
  wanted.l_whence = SEEK_SET;
  wanted.l_start = byte;
  wanted.l_len = 1;
  return wanted;
}

// Who stands against a lock of this kind; F_UNLCK: nobody.
short against(int file, std::int64_t byte, short kind) {
  struct flock found = on(byte, kind);
  return fcntl(file, F_OFD_GETLK, &found) == 0 ? found.l_type : static_cast<short>(F_UNLCK);
}

}  // namespace

Taken take(int file, std::int64_t byte) {
  struct flock wanted = on(byte, F_WRLCK);
  if (fcntl(file, F_OFD_SETLK, &wanted) == 0) return Taken::ours;
  if (errno != EAGAIN && errno != EACCES) return Taken::not_possible;
  // Asked as a reader, who is kept out by a writer only.
  return against(file, byte, F_RDLCK) == F_WRLCK ? Taken::by_a_writer : Taken::by_a_reader;
}

bool is_taken(int file, std::int64_t byte) { return against(file, byte, F_RDLCK) == F_WRLCK; }

}  // namespace foundling::range_lock
