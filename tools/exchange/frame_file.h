// A file of recorded frames, opened by what it begins with: pcap, pcapng or CSV.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/result.h"

namespace foundling {

class FrameFile {
 public:
  FrameFile() = default;
  FrameFile(const FrameFile&) = delete;
  FrameFile& operator=(const FrameFile&) = delete;
  virtual ~FrameFile() = default;

  // The next frames in the file's order, t_ns being the file's own time stamp; error frames have
  // their flag bit in the identifier. Empty at the end.
  virtual Result<std::vector<Frame>> next_batch() = 0;

  // What a person should know about the file, once it is read.
  [[nodiscard]] virtual std::vector<std::string> remarks() const { return {}; }
};

inline constexpr std::size_t frames_a_batch = 4096;

Result<std::unique_ptr<FrameFile>> open_frame_file(const std::filesystem::path& path);

// A file that is there and begins like none of the others: taken for a table of text.
[[nodiscard]] bool is_csv_file(const std::filesystem::path& path);

}  // namespace foundling
