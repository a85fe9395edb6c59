#include "tools/exchange/text_lines.h"

#include <cerrno>
#include <cstring>
#include <system_error>

namespace foundling {
namespace {

constexpr std::size_t piece = 1 << 20;

}  // namespace

Result<TextLines> TextLines::open(const std::filesystem::path& path) {
  TextLines lines;
  lines.name_ = path.string();
  std::error_code ignored;
  if (std::filesystem::is_directory(path, ignored)) {
    return Error{ErrorCode::format, lines.name_ + ": a folder, not a file"};
  }
  lines.file_.reset(std::fopen(path.c_str(), "rb"));
  if (!lines.file_) {
    const ErrorCode code = errno == ENOENT ? ErrorCode::not_found : ErrorCode::io;
    return Error{code, lines.name_ + ": cannot open: " + std::strerror(errno)};
  }
  lines.buffer_.resize(2 * piece);
  if (auto filled = lines.refill(); !filled) return filled.error();
  const std::string_view start(lines.buffer_.data(), lines.end_);
  if (start.substr(0, 3) == "\xEF\xBB\xBF") lines.begin_ = 3;
  return lines;
}

Result<bool> TextLines::refill() {
  std::memmove(buffer_.data(), buffer_.data() + begin_, end_ - begin_);
  end_ -= begin_;
  begin_ = 0;
  if (end_ > piece) {
    return Error{ErrorCode::format,
                 name_ + ':' + std::to_string(number_ + 1) + ":1: error: a line of more than 1 MB"};
  }
  const std::size_t got = std::fread(buffer_.data() + end_, 1, piece, file_.get());
  if (got == 0 && std::ferror(file_.get()) != 0) {
    return Error{ErrorCode::io, name_ + ": cannot read: " + std::strerror(errno)};
  }
  end_ += got;
  return got > 0;
}

Result<std::optional<std::string_view>> TextLines::next() {
  std::size_t looked = 0;
  for (;;) {
    const char* const start = buffer_.data() + begin_;
    const void* const feed = std::memchr(start + looked, '\n', end_ - begin_ - looked);
    std::size_t length = end_ - begin_;
    std::size_t taken = length;
    if (feed != nullptr) {
      length = static_cast<std::size_t>(static_cast<const char*>(feed) - start);
      taken = length + 1;
    } else {
      looked = length;
      const auto more = refill();
      if (!more) return more.error();
      if (*more) continue;
      if (length == 0) return std::optional<std::string_view>{};
    }
    std::string_view line(buffer_.data() + begin_, length);
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    begin_ += taken;
    ++number_;
    return std::optional<std::string_view>(line);
  }
}

}  // namespace foundling
