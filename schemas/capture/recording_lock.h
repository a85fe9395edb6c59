// One recorder a capture: a lock on a file beside the capture, NAME.recording, that only who may
// write that file can take (range_lock.h). Beside it, because closing any handle of the capture
// itself would drop SQLite's own locks; held_file.h locks the capture as well, for as long as it is
// open. The kernel releases it when the process dies; a left-over file without a lock means
// nothing, and one that somebody else holds for reading is replaced.
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
  static Result<int> try_once(const std::filesystem::path& path);
  static Result<int> replace(const std::filesystem::path& path);

  int file_ = -1;
  std::filesystem::path path_;
};

}  // namespace foundling
