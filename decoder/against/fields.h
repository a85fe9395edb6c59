// Which bits of a stream belong together as one number, told by how they move: when a bit flips by
// a carry, the bit below it flips as well, and lower bits flip more often than higher ones.
#pragma once

#include <vector>

#include "decoder/against/pairing.h"

namespace foundling::held {

// Spans of all bits that moved in either recording, or stood still in both at other values. Bits in
// `owned` belong to none.
[[nodiscard]] std::vector<Span> changing_fields(const MessagePair& pair, const Stream& stream,
                                                const BitSet& owned);

}  // namespace foundling::held
