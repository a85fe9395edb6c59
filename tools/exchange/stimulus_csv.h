// What was applied on the bench, as CSV: time_s,channel,unit,value, and uncertainty and kind where
// wanted. Reads it into channels in one unit each; writes it back with times and values exact.
// Refuses a channel that changes its kind or what it measures, and whatever is no number or word.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/values/reading.h"
#include "schemas/values/result.h"

namespace foundling {

struct StimulusFile {
  std::vector<ChannelSeries> channels;  // in the file's order; t_ns is the file's own time
  std::vector<std::string> remarks;     // for a person: unknown units, rounded times
};

// `known`: channels that are there already; the file's readings go into their units.
Result<StimulusFile> read_stimulus_csv(const std::filesystem::path& path,
                                       const std::vector<Channel>& known = {});

// All readings by time, then channel name; `origin_ns` is added to every time.
void append_stimulus_csv(std::string& text, const std::vector<ChannelSeries>& channels,
                         std::int64_t origin_ns);

// What is wrong with a channel's name, a state's word; empty when nothing is.
[[nodiscard]] std::string fault_of_channel_name(std::string_view name);
[[nodiscard]] std::string fault_of_state(std::string_view word);

}  // namespace foundling
