#include "tools/recorded_plan.h"

#include <algorithm>
#include <limits>

#include "tools/bench_run_progress.h"

namespace foundling {
namespace {

// Valid ones in the order in which they were written, from the last plan on.
std::vector<Mark> marks_of_walk(const std::vector<StoredMark>& marks) {
  std::vector<StoredMark> valid;
  for (const StoredMark& one : marks) {
    if (one.superseded_by == 0) valid.push_back(one);
  }
  std::ranges::sort(valid, {}, &StoredMark::id);
  std::vector<Mark> walk;
  for (const StoredMark& one : valid) {
    if (one.mark.kind == plan_mark) walk.clear();
    const bool of_walk = one.mark.kind == step_mark && !walk.empty();
    if (one.mark.kind == plan_mark || of_walk) walk.push_back(one.mark);
  }
  return walk;
}

}  // namespace

std::optional<std::string> recorded_plan(const std::vector<StoredMark>& marks) {
  const auto walk = marks_of_walk(marks);
  if (walk.empty()) return {};
  return walk.front().text;
}

bool has_lost_its_plan(const std::vector<StoredMark>& marks) {
  return !recorded_plan(marks) && std::ranges::any_of(marks, [](const StoredMark& one) {
    return one.superseded_by == 0 && one.mark.kind == step_mark;
  });
}

std::vector<ChannelSeries> readings_of_steps(const std::vector<ChannelSeries>& channels,
                                             const std::vector<StoredMark>& marks) {
  const auto walk = marks_of_walk(marks);
  if (walk.empty()) return channels;
  std::int64_t from_ns = walk.front().t_ns;
  std::int64_t to_ns = std::numeric_limits<std::int64_t>::max();
  for (const Mark& mark : walk) {
    if (mark.text == at_rest_words) from_ns = mark.t_ns;
    // The readings at rest stand between the last step's end and this mark.
    if (mark.text.ends_with(" done")) to_ns = mark.t_ns;
  }
  if (walk.back().text != finished_words) to_ns = std::numeric_limits<std::int64_t>::max();
  std::vector<ChannelSeries> out = channels;
  for (ChannelSeries& series : out) {
    std::erase_if(series.readings,
                  [&](const Reading& r) { return r.t_ns <= from_ns || r.t_ns > to_ns; });
  }
  return out;
}

}  // namespace foundling
