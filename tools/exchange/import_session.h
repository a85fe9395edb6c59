// Brings a file of frames, and what was applied on the bench, into a new capture as one session.
// Times: where the file's clock looks like the wall clock, the session starts at its first frame;
// where it starts near zero, the session's time line is the file's. Export gives the file's stamps
// back exactly in both cases.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "schemas/capture/rows.h"
#include "schemas/values/result.h"
#include "tools/exchange/layout/frames_layout.h"
#include "tools/exchange/layout/readings_layout.h"

namespace foundling {

struct ImportOrder {
  std::filesystem::path frames;
  std::optional<FramesLayout> frames_layout;  // of another program's table
  std::optional<std::filesystem::path> stimulus;
  std::optional<ReadingsLayout> stimulus_layout;  // of another program's table
  std::int64_t stimulus_offset_ns = 0;            // added to every time of the stimulus file
  std::filesystem::path capture;
  SessionInfo info;  // pack, board, note, tool_version, bit rates; times are set here
};

struct ImportOutcome {
  std::uint64_t frames = 0, error_frames = 0, remote_frames = 0;
  std::uint64_t out_of_order = 0;  // lines that lay before their predecessor in time
  std::size_t channels = 0, readings = 0;
  std::vector<std::string> remarks;
};

// `progress` hears the number of frames now and then.
Result<ImportOutcome> import_session(const ImportOrder& order, void (*progress)(std::uint64_t));

}  // namespace foundling
