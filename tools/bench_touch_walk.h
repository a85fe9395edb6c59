// Walks a person through a touch test: says when to bring the thing into its other state, at drawn
// moments, takes Enter as done, and says after each turn what answered; undo, stop, leave and go
// on later.
#pragma once

#include <cstdint>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "decoder/touch/answers.h"
#include "schemas/values/result.h"
#include "tools/bench_run_input.h"
#include "tools/bench_touch_book.h"
#include "tools/bench_touch_story.h"

namespace foundling {

// What the frames so far say: the test with all its turns, and which bits follow from others.
struct TouchLook {
  touch::TouchTest test;
  touch::Followers followers;
};
// An error where the capture cannot be read, or has no frames from before the first turn.
[[nodiscard]] Result<TouchLook> look_at_touches(TouchBook& book, const TouchStory& story);

// The ranking as text; with `final`, the chance by drawing the places again and what to do next.
[[nodiscard]] std::string touch_words(const TouchLook& look, const TouchPlan& plan, bool final);
// Whether anything answered beyond doubt.
[[nodiscard]] bool has_answer(const TouchLook& look);

class TouchWalk {
 public:
  // `seed`: of the places.
  TouchWalk(TouchPlan plan, std::uint64_t seed, TouchBook& book, RunInput& input);

  // Whether something answered; nothing where it was left before its end. `anew`: whatever was
  // done of it.
  Result<std::optional<bool>> run(bool anew);

 private:
  enum class Next { on, again, undo, stop, quit };

  Result<Next> cautions();
  Result<Next> begin();
  Result<Next> wait_quietly(std::int64_t until_ns, const std::string& prompt);
  Result<Next> turn();
  Result<Next> act(TouchTurn& turn, std::int64_t word_ns);
  Result<void> undo();
  Result<void> show(bool final);
  Result<Next> asked(const RunLine& line);
  [[nodiscard]] int counted() const;
  [[nodiscard]] int next_target() const { return counted() % 2 == 0 ? 1 : 0; }
  Result<Next> set_back(int state);

  TouchStory story_;
  std::mt19937_64 random_;
  TouchBook& book_;
  RunInput& input_;
  bool answered_ = false;
};

}  // namespace foundling
