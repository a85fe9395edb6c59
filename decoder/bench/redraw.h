// A drawn plan that was carried out, and how it might have come out with other seeds: the chance
// figure of a search is how often another draw would have found as good a field.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "decoder/bench/draw.h"
#include "schemas/values/reading.h"

namespace foundling::bench {

struct Stretch {  // in which everything of a drawn step was set and held
  std::int64_t from_ns = 0;
  std::int64_t to_ns = 0;
};

struct Redrawn {
  std::vector<Stretch> stretches;  // of the drawn steps that were carried out
  // By numeric channel: its levels in those stretches, first as they were, then a draw each.
  std::map<std::string, std::vector<std::vector<double>>> levels;
};

// The plan drawn again from its own seed. Nothing where it has none, or where the steps are not
// those of the draw: edited by hand.
[[nodiscard]] std::optional<Drawn> drawn_again(const Plan& plan);

// When the drawn steps were carried out, by the readings: every setting of a channel has its
// reading, in order, near the planned value. Nothing where readings and plan do not match.
[[nodiscard]] std::optional<std::vector<Stretch>> stretches_of(
    const Drawn& drawn, std::span<const ChannelSeries> channels, std::int64_t end_ns);

// `seed`: of the first draw; the others count up from it.
[[nodiscard]] Redrawn redraw(const Drawn& drawn, std::vector<Stretch> stretches, std::uint64_t seed,
                             int draws);

}  // namespace foundling::bench
