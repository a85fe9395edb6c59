// One recorder a capture: an advisory lock (flock) on a file beside the capture, NAME.recording.
// Beside it, because closing any handle of the capture itself would drop SQLite's own locks.
// The kernel releases it when the process dies; a left-over file without a lock means nothing.
#pragma once

#include <filesystem>

#include "schemas/values/result.h"

namespace foundling {

class RecordingLock {
 public:
  // ErrorCode::busy when another recorder holds it.
  static Result<RecordingLock> take(const std::filesystem::path& capture);
  // Whether a recorder is at work on the capture now.
  [[nodiscard]] static bool is_held(const std::filesystem::path& capture);

  RecordingLock() = default;
  RecordingLock(RecordingLock&& other) noexcept;
  RecordingLock& operator=(RecordingLock&& other) noexcept;
  RecordingLock(const RecordingLock&) = delete;
  RecordingLock& operator=(const RecordingLock&) = delete;
  ~RecordingLock();

 private:
  int file_ = -1;
  std::filesystem::path path_;
};

}  // namespace foundling
