// A whole bench session of the simulated board: every frame and every reading, on one time line.
#pragma once

#include <string>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/reading.h"
#include "tools/board/bench_plan.h"
#include "tools/board/board.h"

namespace foundling::board {

struct SessionOptions {
  PlanOptions plan;
  BoardOptions board;
};

// Session 1 is for finding, session 2 for checking: the same board, another order of levels.
// `small` is the copy of a few thousand frames in captures_demo/. number >= 1.
[[nodiscard]] SessionOptions session_options(int number, bool small);

struct BenchSession {
  std::int64_t duration_ns = 0;
  std::vector<Frame> frames;            // in order of time, t_ns from the session's start
  std::vector<ChannelSeries> channels;  // in the order of bench_channels()
};

[[nodiscard]] BenchSession run_session(const SessionOptions& options);

inline constexpr const char* pack_name =
    "electric orchard tractor, 28 LFP cells in series (invented)";
inline constexpr const char* board_name = "simulated control board (invented)";

}  // namespace foundling::board
