// The verb `mark` of `foundling stimulus`, and what `correct` does to a mark: m1, m2 ...
#pragma once

#include <string>
#include <vector>

#include "schemas/values/result.h"
#include "tools/stimulus_verbs.h"

namespace foundling {

Result<void> add_stimulus_mark(const std::vector<std::string>& words, const StimulusOrder& order);

[[nodiscard]] bool names_mark(const std::string& word);  // "m12"
Result<void> correct_stimulus_mark(const std::vector<std::string>& words,
                                   const StimulusOrder& order);

}  // namespace foundling
