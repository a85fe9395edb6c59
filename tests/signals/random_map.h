// Random signal maps, for property tests. The same seed gives the same map everywhere.
#pragma once

#include <cstdint>
#include <random>

#include "schemas/signals/document.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

using Random = std::mt19937_64;

// A map without faults: fields do not overlap, names are unique, everything the text can say
// occurs.
[[nodiscard]] SignalMap random_map(Random& random);

// Comments and blank lines strewn into a tree.
void add_comments(Document& document, Random& random);

[[nodiscard]] std::uint64_t below(Random& random, std::uint64_t limit);  // 0..limit-1
[[nodiscard]] Span random_span(Random& random, int bytes);

}  // namespace foundling
