// Finds the fields that answer to known channels. Pure: spans in, structs out.
#pragma once

#include <cstdint>
#include <span>

#include "decoder/analysis/planned_stimuli.h"
#include "decoder/analysis/proposal.h"
#include "decoder/analysis/survey.h"
#include "schemas/values/frame.h"
#include "schemas/values/reading.h"

namespace foundling {

constexpr double believable_chance = 0.05;  // beyond it nothing is put forward
constexpr double strong_chance = 0.01;

struct CorrelateOptions {
  std::uint64_t seed = 1;  // of the permutations behind the chance figure
  // Where the stimuli were drawn and it is known how, the chance figure comes from redrawing them.
  const PlannedStimuli* planned = nullptr;
};

// `survey` is that of the same messages. Messages and channels are on one time line.
[[nodiscard]] Correlation correlate(std::span<const MessageSeries> messages,
                                    std::span<const ChannelSeries> channels, const Survey& survey,
                                    const CorrelateOptions& options = {});

}  // namespace foundling
