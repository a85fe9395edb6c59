#include "tools/bench_run_progress.h"

#include <algorithm>
#include <array>
#include <charconv>

namespace foundling {
namespace {

constexpr std::array<std::string_view, 4> words{"open", "begun", "done", "skipped"};

void take(RunProgress& progress, const std::string& text) {
  if (text == at_rest_words) progress.at_rest = true;
  if (text == finished_words) progress.finished = true;
  int number = 0;
  const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (failure != std::errc{} || number < 1 ||
      static_cast<std::size_t>(number) > progress.steps.size()) {
    return;
  }
  const auto rest = static_cast<std::size_t>(end - text.data());
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (text.compare(rest, std::string::npos, ' ' + std::string(words[i])) != 0) continue;
    progress.steps[static_cast<std::size_t>(number) - 1] = static_cast<StepState>(i);
  }
}

}  // namespace

std::string step_words(int number, StepState state) {
  return std::to_string(number) + ' ' + std::string(words[static_cast<std::size_t>(state)]);
}

std::size_t RunProgress::next() const {
  const auto first = std::find_if(steps.begin(), steps.end(), [](StepState state) {
    return state == StepState::open || state == StepState::begun;
  });
  return static_cast<std::size_t>(first - steps.begin());
}

RunProgress run_progress(const std::vector<StoredMark>& marks, const std::string& plan_text,
                         std::size_t steps) {
  RunProgress progress;
  progress.steps.assign(steps, StepState::open);
  // In the order in which they were written: a step's two marks may share a moment.
  std::vector<const StoredMark*> ordered;
  for (const StoredMark& stored : marks) {
    if (stored.superseded_by == 0) ordered.push_back(&stored);
  }
  std::sort(ordered.begin(), ordered.end(),
            [](const StoredMark* a, const StoredMark* b) { return a->id < b->id; });
  for (const StoredMark* stored : ordered) {
    if (stored->mark.kind == plan_mark) {
      progress = {};
      progress.steps.assign(steps, StepState::open);
      progress.begun = stored->mark.text == plan_text;
      progress.other_begun = !progress.begun;
      if (progress.other_begun) progress.other_text = stored->mark.text;
    } else if (stored->mark.kind == step_mark && progress.begun) {
      take(progress, stored->mark.text);
    }
  }
  return progress;
}

}  // namespace foundling
