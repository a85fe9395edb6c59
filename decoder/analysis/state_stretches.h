// A state channel's readings as stretches of time in which one word is said to hold.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "schemas/values/reading.h"

namespace foundling {

struct Stretch {
  std::int64_t from_ns;
  std::int64_t to_ns;
  std::size_t word;
  std::size_t reading;  // index in the channel
};

struct Stretches {
  std::vector<std::string> words;
  std::vector<Stretch> list;
};

[[nodiscard]] Stretches stretches_of(const ChannelSeries& channel, std::int64_t end_ns);

}  // namespace foundling
