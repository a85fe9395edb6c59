// Lines of a text file, read in large pieces. A byte-order mark, LF and CRLF are taken off; a line
// number is kept. Refuses a line longer than 1 MB: that is no text.
#pragma once

#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/values/result.h"

namespace foundling {

class TextLines {
 public:
  static Result<TextLines> open(const std::filesystem::path& path);

  // The next line, valid until the next call; nothing at the end.
  Result<std::optional<std::string_view>> next();

  [[nodiscard]] std::uint64_t number() const { return number_; }  // of the last line, from 1
  [[nodiscard]] const std::string& name() const { return name_; }

 private:
  struct Close {
    void operator()(std::FILE* file) const { std::fclose(file); }
  };
  TextLines() = default;
  Result<bool> refill();  // false at the end of the file

  std::unique_ptr<std::FILE, Close> file_;
  std::string name_;
  std::vector<char> buffer_;
  std::size_t begin_ = 0, end_ = 0;  // of what is not handed out yet
  std::uint64_t number_ = 0;
};

}  // namespace foundling
