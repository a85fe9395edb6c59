// One walk through a plan on a capture: two would both ask for settings of one bench, and each
// write the other's down as its own. A lock on a file beside the capture, NAME.walking, that the
// kernel releases when the process dies; a left-over file without a lock means nothing.
#pragma once

#include <filesystem>

#include "schemas/values/result.h"

namespace foundling {

class WalkLock {
 public:
  // ErrorCode::busy when another walk holds it.
  static Result<WalkLock> take(const std::filesystem::path& capture);

  WalkLock() = default;
  WalkLock(WalkLock&& other) noexcept;
  WalkLock& operator=(WalkLock&& other) noexcept;
  WalkLock(const WalkLock&) = delete;
  WalkLock& operator=(const WalkLock&) = delete;
  ~WalkLock();

 private:
  int file_ = -1;
  std::filesystem::path path_;
};

}  // namespace foundling
