// Fields of different channels that overlap: each is tried without the other's bits, and the one
// that loses less by it gives them up. So a field that reached into its neighbour ends where that
// begins.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "decoder/analysis/claims.h"

namespace foundling {

// Looks at each claim's best candidate that follows its channel, and shortens candidates in place.
void contest_bits(std::span<const Stream> streams, std::vector<Claim>& claims, std::int64_t end_ns);

}  // namespace foundling
