// What answered, best first: each bit, field or message once, though a bit's answer is also that of
// every field around it. Pure.
#pragma once

#include <array>
#include <map>
#include <vector>

#include "decoder/touch/touch_test.h"

namespace foundling::touch {

struct Answer {
  Candidate candidate;
  // That any candidate at all, after any of the turns, looks as good by luck: at most this.
  double chance = 1;
  int answered = 0;    // turns
  double delay_s = 0;  // after the word, the hand's own time included: the median
  bool rises = false;  // towards state 1
  // In either state: the mean code; of a message, how often a second it is sent.
  std::array<double, 2> value{};
};

// Bits that follow from others: checksums and counters. They answer whenever anything in their
// message does.
using Followers = std::map<MessageKey, std::vector<Span>>;

[[nodiscard]] std::vector<Answer> answers(const TouchTest& test, const Followers& followers,
                                          std::size_t most);

}  // namespace foundling::touch
