// New findings into a map file: written where there is none, merged where there is one. The file is
// replaced whole or left as it was; a map with faults is never touched.
#pragma once

#include <ostream>
#include <string>
#include <vector>

#include "schemas/signals/merge.h"
#include "schemas/signals/signal_map.h"
#include "schemas/values/result.h"

namespace foundling {

// What was added, updated, agreed or contradicted goes to `messages`, a line each for what a person
// has to look at.
[[nodiscard]] Result<void> update_map_file(const std::string& path, const SignalMap& findings,
                                           std::ostream& messages);

// What a merge did, in words: what contradicts the map, and the counts that are not zero.
void report_merge(const std::vector<MergeNote>& notes, const std::string& path,
                  std::ostream& messages);

// Of a merge that is_faultless (verify.h) says no to: maps without faults merge to one, but for
// size.
[[nodiscard]] Error too_large(const std::string& path);

// Before long work whose result goes there: a map with faults, a folder that is not there or cannot
// be written into.
[[nodiscard]] Result<void> check_map_target(const std::string& path, std::ostream& messages);

}  // namespace foundling
