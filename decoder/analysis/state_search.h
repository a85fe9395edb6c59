// Bits and small fields that answer to a state channel: every word shows one code, and different
// words show different codes.
#pragma once

#include <map>
#include <span>
#include <string>
#include <vector>

#include "decoder/analysis/stream.h"
#include "schemas/values/reading.h"

namespace foundling {

struct OddState {           // a reading that the field contradicts all the time it stood
  std::size_t reading = 0;  // index in the channel
  std::string shown;        // the word that the field showed instead
};

struct StateCandidate {
  std::size_t stream = 0;
  Span span;
  std::map<std::uint64_t, std::string> states;  // raw code -> word
  int stretches = 0;     // between changes of the channel, in which the field was seen
  int disagree = 0;      // of these, how many show another word's code
  double agreement = 0;  // share of the looked-at time of the others in which code and word agree
  double score = 0;      // mean over stretches of (agreeing - disagreeing) / all frames: 1 at best
  double delay_s = 0;    // median time from a change of the channel to the field's answer
  std::vector<OddState> odd;
};

struct StateSearch {
  int words = 0;                           // distinct
  int changes = 0;                         // of the channel
  std::vector<StateCandidate> candidates;  // best first
  double chance = 1;  // that a plan with the same stretches or words in another order does as well
};

[[nodiscard]] StateSearch search_states(std::span<const Stream> streams,
                                        const ChannelSeries& channel, std::int64_t end_ns,
                                        std::uint64_t seed, int draws = 199);

}  // namespace foundling
