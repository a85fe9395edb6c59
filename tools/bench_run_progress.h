// How far the run of a bench plan has come. The capture is its only memory: a mark with the plan's
// text when it is begun, and one for what becomes of each step. So it goes on after a crash. Pure.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/capture/rows.h"

namespace foundling {

inline constexpr std::string_view plan_mark = "plan";
inline constexpr std::string_view step_mark = "step";
// The words of its marks that are of no single step.
inline constexpr std::string_view at_rest_words = "at rest";
inline constexpr std::string_view finished_words = "finished";

enum class StepState : std::uint8_t { open, begun, done, skipped };

// The words of a step's mark: "12 done".
[[nodiscard]] std::string step_words(int number, StepState state);

struct RunProgress {
  bool begun = false;        // this plan, in this session
  bool other_begun = false;  // the last plan begun here is another, or an earlier text of this
  std::string other_text;    // that plan's
  bool at_rest = false;      // everything was brought to rest first
  bool finished = false;
  std::vector<StepState> steps;  // step 1 first

  // The first step that is neither done nor skipped; steps.size() when none is left.
  [[nodiscard]] std::size_t next() const;
};

[[nodiscard]] RunProgress run_progress(const std::vector<StoredMark>& marks,
                                       const std::string& plan_text, std::size_t steps);

}  // namespace foundling
