#include "tests/daemon/failing_disk.h"

#include <sqlite3.h>

#include <cstring>

// https://www.sqlite.org/vfs.html, "VFS shims".
namespace foundling {
namespace {

struct Plan {
  int calls = 0, first = 0, last = -1, failed = 0;
  FailingDisk::Fault fault = FailingDisk::Fault::undone;
} plan;

sqlite3_vfs* below = nullptr;
sqlite3_vfs shim{};

struct File {
  sqlite3_file base;
  sqlite3_file* real;
};

sqlite3_file* real(sqlite3_file* file) { return reinterpret_cast<File*>(file)->real; }

template <typename Call>
int change(int error, Call call) {
  ++plan.calls;
  if (plan.calls < plan.first || plan.calls > plan.last) return call();
  ++plan.failed;
  if (plan.fault == FailingDisk::Fault::done) call();
  return error;
}

const sqlite3_io_methods* methods() {
  static const sqlite3_io_methods table = [] {
    sqlite3_io_methods m{};
    m.iVersion = 2;  // without memory mapping of the file itself
    m.xClose = [](sqlite3_file* f) { return real(f)->pMethods->xClose(real(f)); };
    m.xRead = [](sqlite3_file* f, void* into, int count, sqlite3_int64 at) {
      return real(f)->pMethods->xRead(real(f), into, count, at);
    };
    m.xWrite = [](sqlite3_file* f, const void* from, int count, sqlite3_int64 at) {
      return change(SQLITE_IOERR_WRITE,
                    [&] { return real(f)->pMethods->xWrite(real(f), from, count, at); });
    };
    m.xTruncate = [](sqlite3_file* f, sqlite3_int64 size) {
      return change(SQLITE_IOERR_TRUNCATE,
                    [&] { return real(f)->pMethods->xTruncate(real(f), size); });
    };
    // No power is cut here, so what was written need not reach the real disk.
    m.xSync = [](sqlite3_file*, int) {
      return change(SQLITE_IOERR_FSYNC, [] { return SQLITE_OK; });
    };
    m.xFileSize = [](sqlite3_file* f, sqlite3_int64* size) {
      return real(f)->pMethods->xFileSize(real(f), size);
    };
    m.xLock = [](sqlite3_file* f, int level) { return real(f)->pMethods->xLock(real(f), level); };
    m.xUnlock = [](sqlite3_file* f, int level) {
      return real(f)->pMethods->xUnlock(real(f), level);
    };
    m.xCheckReservedLock = [](sqlite3_file* f, int* held) {
      return real(f)->pMethods->xCheckReservedLock(real(f), held);
    };
    m.xFileControl = [](sqlite3_file* f, int what, void* argument) {
      return real(f)->pMethods->xFileControl(real(f), what, argument);
    };
    m.xSectorSize = [](sqlite3_file* f) { return real(f)->pMethods->xSectorSize(real(f)); };
    m.xDeviceCharacteristics = [](sqlite3_file* f) {
      return real(f)->pMethods->xDeviceCharacteristics(real(f));
    };
    m.xShmMap = [](sqlite3_file* f, int page, int size, int extend, void volatile** at) {
      return real(f)->pMethods->xShmMap(real(f), page, size, extend, at);
    };
    m.xShmLock = [](sqlite3_file* f, int offset, int count, int flags) {
      return real(f)->pMethods->xShmLock(real(f), offset, count, flags);
    };
    m.xShmBarrier = [](sqlite3_file* f) { real(f)->pMethods->xShmBarrier(real(f)); };
    m.xShmUnmap = [](sqlite3_file* f, int remove) {
      return real(f)->pMethods->xShmUnmap(real(f), remove);
    };
    return m;
  }();
  return &table;
}

int open(sqlite3_vfs* /*vfs*/, const char* name, sqlite3_file* file, int flags, int* out_flags) {
  auto* const ours = reinterpret_cast<File*>(file);
  ours->base.pMethods = nullptr;
  ours->real = reinterpret_cast<sqlite3_file*>(ours + 1);
  std::memset(ours->real, 0, static_cast<std::size_t>(below->szOsFile));
  const int status = below->xOpen(below, name, ours->real, flags, out_flags);
  if (ours->real->pMethods != nullptr) ours->base.pMethods = methods();
  return status;
}

}  // namespace

FailingDisk::FailingDisk() {
  plan = {};
  below = sqlite3_vfs_find(nullptr);
  shim = *below;
  shim.pNext = nullptr;
  shim.zName = "failing-disk";
  shim.szOsFile = static_cast<int>(sizeof(File)) + below->szOsFile;
  shim.xOpen = open;
  sqlite3_vfs_register(&shim, 1);
}

FailingDisk::~FailingDisk() {
  sqlite3_vfs_unregister(&shim);
  sqlite3_vfs_register(below, 1);
}

void FailingDisk::fail(int first, int how_many, Fault fault) {
  plan = {0, first, first + how_many - 1, 0, fault};
}

void FailingDisk::heal() { plan.last = -1; }

int FailingDisk::failures() { return plan.failed; }

}  // namespace foundling
