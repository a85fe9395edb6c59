// What the tests of capture files in a bad state and of other versions write and read: a small good
// capture, and files byte by byte.
#pragma once

#include <cstdint>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "schemas/capture/capture_writer.h"
#include "tests/must.h"

namespace foundling {

inline void put(const std::filesystem::path& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary) << bytes;
}

inline std::string get(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

inline std::vector<Frame> some_frames(std::int64_t from, std::int64_t count) {
  std::vector<Frame> frames;
  for (std::int64_t i = from; i < from + count; ++i) {
    Frame frame;
    frame.t_ns = i * 1'000'000;
    frame.id = CanId::standard(0x1A4);
    frame.length = 8;
    frames.push_back(frame);
  }
  return frames;
}

inline void fill(const std::filesystem::path& path) {
  auto writer = must(CaptureWriter::create(path));
  const auto session = must(writer.begin_session({}));
  must(writer.add_frames(session, some_frames(0, 2000)));
  const auto current = must(writer.ensure_channel({"pack_current", "A", ChannelKind::hold}));
  must(writer.add_reading(session, current, {5, 1.25, 0.01, ""}));
  must(writer.close());
}

}  // namespace foundling
