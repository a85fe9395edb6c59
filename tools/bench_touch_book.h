// What a touch test writes into the running capture, and the frames that it looks up there. Opens
// the capture for each and lets go of it, so that the recorder may roll over meanwhile. All times
// are on the boot clock, which all files of a recording share. A turn and its reading are written
// together, or not at all.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/result.h"
#include "tools/bench_touch_story.h"

namespace foundling {

class TouchBook {
 public:
  explicit TouchBook(std::filesystem::path capture) : capture_(std::move(capture)) {}

  // The last test of that channel in the capture's last session or, where that began by rolling
  // over, in the files before it.
  Result<std::optional<TouchStory>> story(const std::string& channel);
  Result<std::vector<Channel>> channels();
  // Frames of this boot's sessions, from_ns <= t_ns < to_ns, in stored order; t_ns on the boot
  // clock.
  Result<std::vector<Frame>> frames(std::int64_t from_ns, std::int64_t to_ns);

  // All of these: an error unless a recorder is at work on the capture.
  Result<std::int64_t> now();
  // How the thing stands, since now at the latest.
  Result<std::int64_t> begin(const TouchPlan& plan);  // when
  Result<void> write(const TouchPlan& plan, TouchTurn& turn, int number, std::int64_t word_ns);
  Result<void> stands(const TouchPlan& plan, int state);
  // The turn's mark and reading are withdrawn.
  Result<void> take_back(const TouchPlan& plan, const TouchTurn& turn);
  Result<void> finish(const TouchPlan& plan);

 private:
  struct Opened;
  Result<Opened> open() const;

  std::filesystem::path capture_;
};

}  // namespace foundling
