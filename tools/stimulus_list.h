// The verb `list` of `foundling stimulus`: readings and marks of a session in order of time, as
// text or JSON.
#pragma once

#include <string>
#include <vector>

#include "schemas/capture/rows.h"
#include "schemas/values/result.h"
#include "tools/stimulus_verbs.h"

namespace foundling {

Result<void> list_stimuli(const std::vector<std::string>& words, const StimulusOrder& order);

// "12.5 A ± 0.02", "closed".
[[nodiscard]] std::string reading_words(const Channel& channel, const Reading& reading);

}  // namespace foundling
