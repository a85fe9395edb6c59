// What each part of the comparison hands on: differences with the chance of one comparison, and how
// many comparisons were made. Held together in against.cpp.
#pragma once

#include <vector>

#include "decoder/against/pairing.h"

namespace foundling::held {

// A count that did not go on as it should.
struct CountBreak {
  Side side = Side::a;
  std::uint8_t bus = 0;
  double at_s = 0;
  double luck = 1;  // that it would land so near its beginning by chance; 1: it did not
};

struct Judged {
  std::vector<Difference> differences;  // chance: of this comparison alone
  std::size_t comparisons = 0;
  std::vector<CountBreak> breaks;
};

// When the messages come: presence, period, jitter, regularity, rate, length.
void judge_timing(const MessagePair& pair, Judged& judged);
// Only for a message that came in one recording alone: its blocks of time.
void judge_presence(const MessagePair& pair, Judged& judged);

// How the messages are built; what is known of them for judging the rest.
struct Form {
  std::optional<Span> selector;
  BitSet owned;        // by selector, counters, checksums of either recording
  bool values = true;  // fields can be compared: same pages, no segmented transport
};
[[nodiscard]] Form judge_form(const MessagePair& pair, Judged& judged);

// What the fields say.
void judge_values(const MessagePair& pair, const Form& form, Judged& judged);

// Where counters that the survey knows broke off; into `breaks`.
void note_counter_breaks(const MessagePair& pair, const std::optional<Span>& selector,
                         Judged& judged);
// Over all messages: silences, and resets out of all breaks.
void judge_silences(std::span<const MessagePair> pairs, Judged& judged);
void judge_resets(std::span<const MessagePair> pairs, Judged& judged);

}  // namespace foundling::held
