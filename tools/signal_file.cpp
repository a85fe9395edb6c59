#include "tools/signal_file.h"

#include <filesystem>
#include <fstream>
#include <ostream>
#include <string_view>
#include <utility>

#include "schemas/values/utf8.h"
#include "tools/text_file.h"

namespace foundling {
namespace {

enum class Content { capture, map, other };

// The first bytes of an SQLite file, with its terminating zero (sqlite.org/fileformat2.html, 1.3).
constexpr std::string_view capture_start{"SQLite format 3\0", 16};
constexpr std::string_view map_start = "foundling signals";

Result<Content> content_of(const std::string& path) {
  // A FIFO would keep us waiting for whoever writes into it, and neither kind is one.
  std::error_code failed;
  const auto status = std::filesystem::status(path, failed);
  if (std::filesystem::is_other(status)) return Content::other;
  std::ifstream file(path, std::ios::binary);
  if (!file) return Error{ErrorCode::not_found, path + ": cannot be opened"};
  std::string start(64, '\0');
  file.read(start.data(), static_cast<std::streamsize>(start.size()));
  if (file.bad() || (file.fail() && !file.eof())) {
    return Error{ErrorCode::io, path + ": cannot be read"};
  }
  start.resize(static_cast<std::size_t>(file.gcount()));
  std::string_view seen = start;
  if (seen.starts_with(capture_start)) return Content::capture;
  if (seen.starts_with(byte_order_mark)) seen.remove_prefix(byte_order_mark.size());
  return seen.starts_with(map_start) ? Content::map : Content::other;
}

}  // namespace

Result<SignalFile> read_signal_file(const std::string& path) {
  auto text = read_text_file(path);
  if (!text) return text.error();
  SignalFile file{path, std::move(*text), {}};
  file.read = read_signals(file.text);
  return file;
}

Result<SignalFile> load_signal_file(const std::string& path, std::ostream& messages) {
  auto file = read_signal_file(path);
  if (!file) return file;
  messages << describe(file->read.diagnostics, path, file->text);
  if (!file->read.ok()) {
    return Error{ErrorCode::format, path + ": the signal map has errors, nothing was done"};
  }
  return file;
}

Result<CaptureAndMap> tell_apart(const std::string& one, const std::string& other) {
  const auto first = content_of(one);
  if (!first) return first.error();
  const auto second = content_of(other);
  if (!second) return second.error();
  if (*first == Content::capture && *second == Content::capture) {
    return Error{ErrorCode::usage, one + " and " + other +
                                       " are captures both; one has to be a "
                                       "signal map"};
  }
  if (*first == Content::map && *second == Content::map) {
    return Error{ErrorCode::usage, one + " and " + other +
                                       " are signal maps both; one has to be a "
                                       "capture"};
  }
  if (*first == Content::capture || *second == Content::map) return CaptureAndMap{one, other};
  if (*first == Content::map || *second == Content::capture) return CaptureAndMap{other, one};
  return Error{ErrorCode::format, one + " and " + other + ": neither is a capture or a signal map"};
}

}  // namespace foundling
