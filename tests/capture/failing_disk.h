// A disk that fails: an SQLite VFS that hands everything to the real one but lets the n-th write,
// or sync, since arming fail as a full or broken disk does, and every one after it.
#pragma once

namespace foundling {

class FailingDisk {
 public:
  FailingDisk();   // becomes the default VFS
  ~FailingDisk();  // the real one is the default again
  FailingDisk(const FailingDisk&) = delete;
  FailingDisk& operator=(const FailingDisk&) = delete;

  void fail_after(int calls, int sqlite_error);
  void recover();
  [[nodiscard]] bool has_failed() const;
};

}  // namespace foundling
