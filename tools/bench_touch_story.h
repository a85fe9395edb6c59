// How far a touch test has come, in the marks of the capture, which is its only memory: one when it
// is begun, one for each turn, withdrawn when the turn is taken back, one when it is through. Pure.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/capture/rows.h"

namespace foundling {

inline constexpr std::string_view touch_mark = "touch";

struct TouchPlan {
  std::string channel;
  std::string states[2];  // as it is at first, and the other
  int turns = 12;
  double pace = 1;
  bool operator==(const TouchPlan&) const = default;
};

struct TouchTurn {
  std::int64_t start_ns = 0;  // of its window
  int place = 0;
  int target = 0;  // 0 or 1
  bool taken_back = false;
  std::int64_t mark = 0;  // its number, 0 where it has none yet
};

struct TouchStory {
  TouchPlan plan;
  std::int64_t begun_ns = 0;
  std::vector<TouchTurn> turns;
  bool finished = false;
};

[[nodiscard]] std::string begun_words(const TouchPlan& plan);
[[nodiscard]] std::string turn_words(const TouchPlan& plan, const TouchTurn& turn, int number);
[[nodiscard]] std::string finished_touch_words(const TouchPlan& plan);

// The last test of that channel among the marks of a session; nothing where there is none.
[[nodiscard]] std::optional<TouchStory> touch_story(std::vector<StoredMark> marks,
                                                    const std::string& channel);

}  // namespace foundling
