// Whole files as text, and the import and export of a session in one call.
#pragma once

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "schemas/capture/capture_reader.h"
#include "tests/must.h"
#include "tools/exchange/export_session.h"
#include "tools/exchange/import_session.h"

namespace foundling {

inline void put(const std::filesystem::path& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary) << bytes;
}

inline std::string get(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

inline Result<ImportOutcome> import_frames(const std::filesystem::path& frames,
                                           const std::filesystem::path& capture) {
  ImportOrder order;
  order.frames = frames;
  order.capture = capture;
  return import_session(order, [](std::uint64_t) {});
}

inline ExportOutcome export_to(const std::filesystem::path& capture, FrameFormat format,
                               const std::filesystem::path& file) {
  auto reader = must(CaptureReader::open(capture));
  const SessionRow session = must(reader.session({}));
  auto output = must(OutputFile::open(file.string()));
  ExportOutcome outcome = must(export_frames(reader, session, format, output));
  must(output.finish());
  return outcome;
}

inline std::vector<Frame> frames_of(const std::filesystem::path& capture) {
  auto reader = must(CaptureReader::open(capture));
  std::vector<Frame> frames;
  must(reader.for_each_frame(1, time_from_start, time_to_end, [&](const Frame& frame) {
    frames.push_back(frame);
    return true;
  }));
  return frames;
}

inline bool same(const Frame& a, const Frame& b) {
  return a.t_ns == b.t_ns && a.id == b.id && a.bus == b.bus && a.flags == b.flags &&
         a.length == b.length && a.payload == b.payload;
}

}  // namespace foundling
