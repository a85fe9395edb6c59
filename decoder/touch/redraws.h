// The chance of a whole test by its drawn places: they are drawn again, and the best of all
// candidates is looked for each time as it was (a randomisation test; Fisher 1935). Exact for a
// number of turns that was settled beforehand; who stops when it looks good has the candidates' own
// chances. Pure.
#pragma once

#include <cstdint>

#include "decoder/touch/touch_test.h"

namespace foundling::touch {

// (1 + how many redraws did as well) / (1 + redraws). 1 where nothing moved.
[[nodiscard]] double chance_by_redraws(const TouchTest& test, int redraws, std::uint64_t seed);

}  // namespace foundling::touch
