// Where a command's data goes: standard output for "-", else a file that gets its name only when it
// is complete (tools/files/new_file.h), so that a failure leaves what was there before.
#pragma once

#include <cstdio>
#include <memory>
#include <optional>
#include <string>
#include <utility>

#include "schemas/values/result.h"
#include "tools/files/new_file.h"

namespace foundling {

class OutputFile {
 public:
  static Result<OutputFile> open(const std::string& path);

  Result<void> write(const std::string& bytes);
  Result<void> finish();

 private:
  struct Close {
    void operator()(std::FILE* file) const { std::fclose(file); }
  };
  explicit OutputFile(std::string name) : name_(std::move(name)) {}
  [[nodiscard]] std::FILE* stream() const { return in_place_ ? in_place_.get() : stdout; }

  std::string name_;
  std::optional<NewFile> file_;
  std::unique_ptr<std::FILE, Close> in_place_;  // a pipe, a device; neither: standard output
};

}  // namespace foundling
