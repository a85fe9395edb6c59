// How long a field says nothing because there is nothing new. A message that is sent when something
// changes comes in bursts: its mean period says little of how long a code stands.
#pragma once

#include <span>

#include "decoder/relate/fields.h"

namespace foundling::relate {

// Fills in silence_s, the usual silence: half of the time passes in silences of at most this. It is
// the period of a message that has one, else about the longest wait for news. And whether the field
// is sent on change, which is so where that is much longer than the mean. The longest silence (a
// cable that was pulled) is left aside in both.
void measure_silences(const MessageSeries& message, Field& field);

// The standard deviation of a code of such a field: from the differences over silences, by their
// length. What is sent after a long one is sent without need, a neighbour in time is news.
[[nodiscard]] double noise_over_silences(const MessageSeries& message, const Field& field,
                                         std::span<const double> codes);

}  // namespace foundling::relate
