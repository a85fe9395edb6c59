// The bench plan that `bench run` left in a session, and what was set for its steps. Pure.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "schemas/capture/rows.h"
#include "schemas/values/reading.h"

namespace foundling {

// The text of the plan that was begun last; nothing where none was.
[[nodiscard]] std::optional<std::string> recorded_plan(const std::vector<StoredMark>& marks);

// Whether there are marks of a walk's steps, but of no plan.
[[nodiscard]] bool has_lost_its_plan(const std::vector<StoredMark>& marks);

// The readings without those from before the first step and after the last one, in which a walk
// brings everything to rest. All of them where no walk left its marks.
[[nodiscard]] std::vector<ChannelSeries> readings_of_steps(
    const std::vector<ChannelSeries>& channels, const std::vector<StoredMark>& marks);

}  // namespace foundling
