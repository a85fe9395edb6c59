// Where a command's data goes: standard output for "-", else a file that gets its name only when it
// is complete, so that a failure leaves what was there before.
#pragma once

#include <cstdio>
#include <filesystem>
#include <string>

#include "schemas/values/result.h"

namespace foundling {

class OutputFile {
 public:
  static Result<OutputFile> open(const std::string& path);
  OutputFile(OutputFile&& other) noexcept;
  OutputFile& operator=(OutputFile&&) = delete;
  ~OutputFile();  // removes the file unless finish() was called

  Result<void> write(const std::string& bytes);
  Result<void> finish();

 private:
  OutputFile() = default;
  [[nodiscard]] Error system_error(const char* doing) const;

  std::FILE* file_ = nullptr;
  std::filesystem::path path_;
  std::filesystem::path unfinished_;  // empty when writing in place: standard output, a pipe
};

}  // namespace foundling
