// What a bench run judges without any input or output: how far it is, and whether a value is still.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "tools/bench_run_progress.h"
#include "tools/bench_run_settling.h"

namespace foundling {

TEST_CASE("the marks of a run tell how far it is") {
  const auto mark = [](std::int64_t id, const char* kind, const std::string& text) {
    return StoredMark{id, {0, kind, text}, 0};
  };
  std::vector<StoredMark> marks{
      mark(1, "plan", "A"),       mark(2, "step", "at rest"), mark(3, "step", "1 begun"),
      mark(4, "step", "1 done"),  mark(5, "note", "2 done"),  mark(6, "step", "2 skipped"),
      mark(7, "step", "99 done"), mark(8, "step", "x"),       mark(9, "step", "3 begun")};
  const auto progress = run_progress(marks, "A", 4);
  CHECK(progress.begun);
  CHECK(progress.at_rest);
  CHECK(progress.next() == 2);
  CHECK(progress.steps[1] == StepState::skipped);
  CHECK(run_progress(marks, "B", 4).other_begun);
  marks.push_back(mark(10, "plan", "A"));  // begun anew
  CHECK(run_progress(marks, "A", 4).next() == 0);
  CHECK(run_progress({}, "A", 4).begun == false);
  for (const StepState state :
       {StepState::open, StepState::begun, StepState::done, StepState::skipped}) {
    CHECK(run_progress({mark(1, "plan", "A"), mark(2, "step", step_words(2, state))}, "A", 3)
              .steps[1] == state);
  }
}

TEST_CASE("still is what stays within the tolerance for as long as it is watched") {
  std::vector<LiveValue> values;
  for (int i = 0; i < 50; ++i) values.push_back({i * 100, i < 20 ? i * 1.0 : 20.0 + i % 2 * 0.1});
  CHECK(is_still(values, 0, 4900, 2000, 0.2));
  CHECK_FALSE(is_still(values, 0, 4900, 2000, 0.05));
  CHECK_FALSE(is_still(values, 0, 3000, 2000, 0.2));     // it still moved
  CHECK_FALSE(is_still(values, 3000, 4900, 2000, 0.2));  // not watched for as long
  CHECK_FALSE(is_still({}, 0, 4900, 2000, 0.2));
}

}  // namespace foundling
