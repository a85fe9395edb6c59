// Where the plateaus of a channel end, if their readings were written down late.
//
// A number: the rows before the next stamp are split into two stretches of one level each, so that
// the squares about both levels are least (the usual estimate of a single change point); the split
// is taken where the second level lies towards the next reading's value by a good part of the step.
// A state: the rows before the stamp that show the next word without a break.
#include <algorithm>
#include <optional>

#include "decoder/decode/check_pairs.h"

namespace foundling {
namespace {

// Of the step between two readings that the frames must have gone for a change before the stamp:
// less is noise, creep or a ripple. Three tenths, so that it is seen also where the stretch begins
// or ends on the way.
constexpr double part_of_step = 0.3;

// The first row of the second stretch, where there are two levels.
std::optional<std::size_t> change_of_level(const Track& track, const Rows& rows, double step) {
  if (rows.size() < 2) return {};
  double total = 0;
  for (std::size_t i = rows.first; i < rows.last; ++i) total += track.number[i];
  const auto n = static_cast<double>(rows.size());
  // The squares about two means are least where what lies between the means is largest.
  double before = 0, most = 0, difference = 0;
  std::size_t best = rows.first;
  for (std::size_t i = rows.first; i + 1 < rows.last; ++i) {
    before += track.number[i];
    const auto k = static_cast<double>(i + 1 - rows.first);
    const double apart = (total - before) / (n - k) - before / k;
    if (apart * apart * k * (n - k) <= most) continue;
    most = apart * apart * k * (n - k);
    difference = apart;
    best = i + 1;
  }
  if (most == 0 || difference * step < part_of_step * step * step) return {};
  return best;
}

std::optional<std::size_t> change_of_word(const Track& track, const Rows& rows,
                                          const std::string& next) {
  std::size_t i = rows.last;
  while (i > rows.first && track.word[i - 1] == next) --i;
  // A signal that shows one word all the time has not changed early: it is wrong.
  if (i == rows.last || i == rows.first) return {};
  return i;
}

// When the frames went to the next plateau before its stamp; its stamp, where they did not.
std::int64_t change_ns(const Track& track, const Plateau& from, const Plateau& to,
                       std::int64_t settled_ns) {
  const std::int64_t earliest = std::max({from.from_ns, settled_ns, to.earliest_ns});
  if (earliest >= to.from_ns) return to.from_ns;
  const Rows rows = rows_between(track, earliest, to.from_ns);
  const auto at = track.word.empty() ? change_of_level(track, rows, to.value - from.value)
                                     : change_of_word(track, rows, to.state);
  return at ? track.t_ns[*at] : to.from_ns;
}

}  // namespace

std::vector<Rows> judged_rows(const Track& track, const std::vector<Plateau>& all,
                              std::int64_t settling_ns) {
  std::vector<Rows> judged;
  std::int64_t begun = all.empty() ? 0 : all.front().from_ns;  // by the frames
  for (std::size_t i = 0; i < all.size(); ++i) {
    const std::int64_t from = std::max(all[i].from_ns, begun + settling_ns);
    const bool last = i + 1 == all.size();
    begun = last ? all[i].to_ns : change_ns(track, all[i], all[i + 1], from);
    judged.push_back(from < begun ? rows_between(track, from, begun) : Rows{});
  }
  return judged;
}

}  // namespace foundling
