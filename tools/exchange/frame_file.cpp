#include "tools/exchange/frame_file.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <string_view>
#include <system_error>

#include "tools/exchange/frames_csv.h"
#include "tools/exchange/pcap_file.h"

namespace foundling {
namespace {

// pcap-savefile(5): microseconds and nanoseconds, either byte order. The pcapng draft: a section
// header block's type reads the same in both orders.
constexpr std::array<std::string_view, 5> packet_magics = {"\xA1\xB2\xC3\xD4", "\xD4\xC3\xB2\xA1",
                                                           "\xA1\xB2\x3C\x4D", "\x4D\x3C\xB2\xA1",
                                                           "\x0A\x0D\x0D\x0A"};

Result<std::string> beginning_of(const std::filesystem::path& path) {
  const std::string name = path.string();
  std::error_code ignored;
  if (std::filesystem::is_directory(path, ignored)) {
    return Error{ErrorCode::format, name + ": a folder, not a file of frames"};
  }
  std::FILE* const file = std::fopen(path.c_str(), "rb");
  if (file == nullptr) {
    const ErrorCode code = errno == ENOENT ? ErrorCode::not_found : ErrorCode::io;
    return Error{code, name + ": cannot open: " + std::strerror(errno)};
  }
  std::array<char, 16> start{};
  const std::size_t got = std::fread(start.data(), 1, start.size(), file);
  std::fclose(file);
  if (got == 0) return Error{ErrorCode::format, name + ": empty file, expected frames"};
  return std::string(start.data(), got);
}

bool is_packets(std::string_view begin) {
  return std::ranges::find(packet_magics, begin.substr(0, 4)) != packet_magics.end();
}

bool is_capture(std::string_view begin) { return begin.substr(0, 13) == "SQLite format"; }

}  // namespace

Result<std::unique_ptr<FrameFile>> open_frame_file(const std::filesystem::path& path) {
  const auto begin = beginning_of(path);
  if (!begin) return begin.error();
  if (is_capture(*begin)) {
    return Error{ErrorCode::format,
                 path.string() + ": an SQLite file; frames come from pcap, pcapng or CSV"};
  }
  if (is_packets(*begin)) return open_pcap_file(path);
  return open_frames_csv(path);
}

bool is_csv_file(const std::filesystem::path& path) {
  const auto begin = beginning_of(path);
  return begin && !is_capture(*begin) && !is_packets(*begin);
}

}  // namespace foundling
