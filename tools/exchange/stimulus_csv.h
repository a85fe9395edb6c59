// What was applied on the bench, as CSV: time_s,channel,unit,value, and uncertainty, kind and
// earliest_s (since when it may have been true) where wanted. Reads it into channels in one unit
// each; writes it back with times and values exact. Refuses a channel that changes its kind or what
// it measures, and whatever is no number or word.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
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

// What is wrong with a time of the file, by its channel's kind; empty when nothing is.
using TimeFault = std::function<std::string(std::int64_t, ChannelKind)>;

// `known`: channels that are there already; the file's readings go into their units. A time that
// `fault_of_time` complains of is an error with its place.
Result<StimulusFile> read_stimulus_csv(const std::filesystem::path& path,
                                       const std::vector<Channel>& known = {},
                                       const TimeFault& fault_of_time = {});

// All readings by time, then channel name; `origin_ns` is added to every time. The column
// earliest_s is there where it is known of any.
void append_stimulus_csv(std::string& text, const std::vector<ChannelSeries>& channels,
                         std::int64_t origin_ns);

}  // namespace foundling
