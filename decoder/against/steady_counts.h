// Counts that go on steadily with time and do not wrap while they are recorded, an uptime above
// all: where they began anew, between the recordings or within one.
#pragma once

#include "decoder/against/judgements.h"

namespace foundling::held {

// In a message without pages. The bits of each count are added to `owned`: they are no value that
// rests. Breaks within a recording go into `judged.breaks`.
void judge_steady_counts(const MessagePair& pair, BitSet& owned, Judged& judged);

}  // namespace foundling::held
