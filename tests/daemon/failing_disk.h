// A disk that fails on demand, below SQLite: while one of these exists every file that SQLite opens
// goes through it. Counts the calls that change a file (write, truncate, sync) and fails some.
#pragma once

namespace foundling {

class FailingDisk {
 public:
  FailingDisk();
  ~FailingDisk();
  FailingDisk(const FailingDisk&) = delete;
  FailingDisk& operator=(const FailingDisk&) = delete;

  enum class Fault {
    undone,  // the call does nothing
    done,    // the call does its work, and says that it failed
  };
  // The calls from the `first` on (1 is the next one), so many, fail.
  static void fail(int first, int how_many, Fault fault);
  static void heal();
  [[nodiscard]] static int failures();  // so far
};

}  // namespace foundling
