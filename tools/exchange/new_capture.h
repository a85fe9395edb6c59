// A capture under construction: lies under another name beside its place and takes its own only
// when complete. A failure, or being stopped, leaves nothing. Refuses a name that is taken.
#pragma once

#include <filesystem>

#include "schemas/capture/capture_writer.h"
#include "schemas/values/result.h"
#include "tools/files/unfinished.h"

namespace foundling {

class NewCapture {
 public:
  static Result<NewCapture> start(const std::filesystem::path& path);
  NewCapture(NewCapture&& other) noexcept = default;
  NewCapture& operator=(NewCapture&&) = delete;
  ~NewCapture();

  [[nodiscard]] CaptureWriter& writer() { return writer_; }
  Result<void> finish();  // the writer is closed after this

 private:
  NewCapture(CaptureWriter writer, std::filesystem::path path, std::filesystem::path building,
             Unfinished folder);

  std::filesystem::path path_, building_;
  Unfinished folder_;     // of the user alone; the capture is built inside
  CaptureWriter writer_;  // gone before its folder
};

}  // namespace foundling
