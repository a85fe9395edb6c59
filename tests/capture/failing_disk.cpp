#include "tests/capture/failing_disk.h"

#include <sqlite3.h>

#include <cstring>

namespace foundling {
namespace {

// SQLite's interface is C with one global registry, so the state is global too.
int calls_left = -1;  // negative: not armed
int failure = SQLITE_FULL;
bool failed = false;

bool fails_now() {
  if (calls_left < 0) return false;
  if (calls_left > 0) {
    --calls_left;
    return false;
  }
  failed = true;
  return true;
}

struct File {
  sqlite3_file base;
  sqlite3_file* real;
};

sqlite3_file* real(sqlite3_file* file) { return reinterpret_cast<File*>(file)->real; }

int close(sqlite3_file* file) {
  const int outcome = real(file)->pMethods->xClose(real(file));
  sqlite3_free(real(file));
  return outcome;
}
int read(sqlite3_file* f, void* to, int n, sqlite3_int64 at) {
  return real(f)->pMethods->xRead(real(f), to, n, at);
}
int write(sqlite3_file* f, const void* from, int n, sqlite3_int64 at) {
  if (fails_now()) return failure;
  return real(f)->pMethods->xWrite(real(f), from, n, at);
}
int truncate(sqlite3_file* f, sqlite3_int64 size) {
  return real(f)->pMethods->xTruncate(real(f), size);
}
int sync(sqlite3_file* f, int flags) {
  if (fails_now()) return SQLITE_IOERR_FSYNC;
  return real(f)->pMethods->xSync(real(f), flags);
}
int file_size(sqlite3_file* f, sqlite3_int64* size) {
  return real(f)->pMethods->xFileSize(real(f), size);
}
int lock(sqlite3_file* f, int level) { return real(f)->pMethods->xLock(real(f), level); }
int unlock(sqlite3_file* f, int level) { return real(f)->pMethods->xUnlock(real(f), level); }
int check_lock(sqlite3_file* f, int* out) {
  return real(f)->pMethods->xCheckReservedLock(real(f), out);
}
int control(sqlite3_file* f, int op, void* arg) {
  return real(f)->pMethods->xFileControl(real(f), op, arg);
}
int sector(sqlite3_file* f) { return real(f)->pMethods->xSectorSize(real(f)); }
int device(sqlite3_file* f) { return real(f)->pMethods->xDeviceCharacteristics(real(f)); }
int shm_map(sqlite3_file* f, int page, int size, int extend, void volatile** out) {
  return real(f)->pMethods->xShmMap(real(f), page, size, extend, out);
}
int shm_lock(sqlite3_file* f, int offset, int n, int flags) {
  return real(f)->pMethods->xShmLock(real(f), offset, n, flags);
}
void shm_barrier(sqlite3_file* f) { real(f)->pMethods->xShmBarrier(real(f)); }
int shm_unmap(sqlite3_file* f, int remove) { return real(f)->pMethods->xShmUnmap(real(f), remove); }

sqlite3_vfs* real_vfs = nullptr;
sqlite3_io_methods methods;
sqlite3_vfs vfs;

int open(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out) {
  auto* const mine = reinterpret_cast<File*>(file);
  mine->base.pMethods = nullptr;
  mine->real = static_cast<sqlite3_file*>(sqlite3_malloc(real_vfs->szOsFile));
  std::memset(mine->real, 0, static_cast<std::size_t>(real_vfs->szOsFile));
  const int outcome = real_vfs->xOpen(real_vfs, name, mine->real, flags, out);
  if (outcome != SQLITE_OK) {
    sqlite3_free(mine->real);
    return outcome;
  }
  mine->base.pMethods = &methods;
  return SQLITE_OK;
}

}  // namespace

FailingDisk::FailingDisk() {
  real_vfs = sqlite3_vfs_find(nullptr);
  methods = {2,        close,       read,       write,   truncate, sync,   file_size,
             lock,     unlock,      check_lock, control, sector,   device, shm_map,
             shm_lock, shm_barrier, shm_unmap,  nullptr, nullptr};
  vfs = *real_vfs;
  vfs.zName = "failing";
  vfs.szOsFile = sizeof(File);
  vfs.xOpen = open;
  recover();
  sqlite3_vfs_register(&vfs, 1);
}

FailingDisk::~FailingDisk() {
  sqlite3_vfs_register(real_vfs, 1);
  sqlite3_vfs_unregister(&vfs);
}

void FailingDisk::fail_after(int calls, int sqlite_error) {
  calls_left = calls;
  failure = sqlite_error;
  failed = false;
}

void FailingDisk::recover() { calls_left = -1; }
bool FailingDisk::has_failed() const { return failed; }

}  // namespace foundling
