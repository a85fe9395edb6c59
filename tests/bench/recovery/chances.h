// The chances that an answer states for channels that the board does not send, by kind of channel.
// Where they are honest, as many in a hundred are below p as p says.
#pragma once

#include <array>
#include <string>
#include <utility>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "schemas/values/reading.h"

namespace foundling::recovery {

struct StatedChances {
  enum Kind : std::size_t { hold, sample, state, kinds };
  std::array<std::vector<double>, kinds> stated;  // the least of a channel's; 1 for no proposal

  void add(const Channel& channel, double least) { stated[kind_of(channel)].push_back(least); }
  StatedChances& operator+=(const StatedChances& other);
  [[nodiscard]] static Kind kind_of(const Channel& channel);
};

// The least that any proposal of the channel states; 1 where there is none.
[[nodiscard]] double least_chance(const Correlation& answer, const std::string& channel);

// How many of them are there, how many have a proposal, and what share states 0.05, 0.01, 0.005 at
// most.
[[nodiscard]] std::string chances_table(
    const std::vector<std::pair<std::string, StatedChances>>& families);

}  // namespace foundling::recovery
