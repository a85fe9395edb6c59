#include "decoder/relate/crossings.h"

#include <algorithm>
#include <cmath>

namespace foundling::relate {
namespace {

// The highest or lowest code in windows from..to; not a number where there is none.
double end_of(const Track& codes, std::size_t from, std::size_t to, bool highest) {
  double out = std::nan("");
  for (std::size_t w = from; w < std::min(to, codes.size()); ++w) {
    if (std::isnan(codes[w])) continue;
    if (std::isnan(out) || (highest ? codes[w] > out : codes[w] < out)) out = codes[w];
  }
  return out;
}

}  // namespace

std::vector<Crossing> crossings_of(const Track& codes, const StateBit& bit, std::size_t delay,
                                   double error) {
  std::vector<Crossing> out;
  const auto back = [delay](std::size_t w) { return w - std::min(w, delay); };
  for (std::size_t i = 0; i < bit.flips.size(); ++i) {
    const std::size_t at = bit.flips[i];
    if (at < delay + 1 || at + 1 >= codes.size() + delay) continue;
    const double before = codes[at - delay - 1];
    const double after = codes[at - delay + 1];
    Crossing one;
    one.sets = bit.becomes_set(i);
    one.code = codes[at - delay];
    one.width = std::abs(after - before) + 2 * error;
    one.from = end_of(codes, back(run_before(bit, i)), at - delay, !one.sets);
    one.to = end_of(codes, at - delay, back(run_end(bit, i)), one.sets);
    if (!std::isnan(one.code + one.width + one.from + one.to)) out.push_back(one);
  }
  return out;
}

}  // namespace foundling::relate
