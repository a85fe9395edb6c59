// Where the plateaus of a channel end, if their readings were written down late.
//
// A number: the rows before the next stamp are split into two stretches of one level each, so that
// the squares about both levels are least (the usual estimate of a single change point). The split
// is taken where the first stretch rests at what the signal shows for this reading and the second
// at what it shows after the next stamp: a signal that is still on its way to its own level does
// not go to the next one's.
// A state: the rows before the stamp that show the next word without a break.
#include <algorithm>
#include <cmath>
#include <optional>

#include "decoder/decode/check_pairs.h"

namespace foundling {
namespace {

// How far from its level, in parts of the step between the two stretches, a stretch may rest. A
// low-pass of a quarter of the stretch leaves its median within e^-2 = 0.14 of the step; twice
// that.
constexpr double near_level = 0.3;

double middle_of(const Track& track, const Rows& rows) {
  const auto first = track.number.begin() + static_cast<std::ptrdiff_t>(rows.first);
  return median({first, first + static_cast<std::ptrdiff_t>(rows.size())});
}

Rows first_half(const Rows& rows) { return {rows.first, rows.first + (rows.size() + 1) / 2}; }

// What the signal shows for what was read: a line, so that a map with a wrong scale has its levels
// too. Its slope is the median of those between the lower and the upper half of the levels (the
// abbreviated method of H. Theil, Proc. Kon. Ned. Akad. Wet. A 53 (1950) 1397), so that slips and
// plateaus that a late stamp spoils do not bend it.
struct ShownLine {
  double at_zero = 0;
  double slope = 0;
  [[nodiscard]] double at(double value) const { return at_zero + slope * value; }
};

ShownLine shown_line(const Track& track, const std::vector<Plateau>& all) {
  std::vector<std::pair<double, double>> levels;
  for (const Plateau& plateau : all) {
    // The second and third eighth of the plateau: a signal that settles within an eighth, and a
    // next reading that is late by less than five eighths, leave them whole.
    const std::int64_t eighth = (plateau.to_ns - plateau.from_ns) / 8;
    const Rows rows = rows_between(track, plateau.from_ns + eighth, plateau.from_ns + 3 * eighth);
    if (rows.size() > 0) levels.emplace_back(plateau.value, middle_of(track, rows));
  }
  std::ranges::sort(levels);
  ShownLine line;
  std::vector<double> values;
  const std::size_t half = levels.size() / 2;
  for (std::size_t i = 0; i < half; ++i) {
    const auto& [x, y] = levels[i];
    const auto& [far_x, far_y] = levels[levels.size() - half + i];
    if (far_x > x) values.push_back((far_y - y) / (far_x - x));
  }
  line.slope = median(std::move(values));
  values.clear();
  for (const auto& [x, y] : levels) values.push_back(y - line.slope * x);
  line.at_zero = median(std::move(values));
  return line;
}

// The first row of the second stretch of least squares: they are least where what lies between the
// two means is largest.
std::size_t split(const Track& track, const Rows& rows) {
  double total = 0;
  for (std::size_t i = rows.first; i < rows.last; ++i) total += track.number[i];
  const auto n = static_cast<double>(rows.size());
  double before = 0, most = 0;
  std::size_t best = rows.first;
  for (std::size_t i = rows.first; i + 1 < rows.last; ++i) {
    before += track.number[i];
    const auto k = static_cast<double>(i + 1 - rows.first);
    const double apart = (total - before) / (n - k) - before / k;
    if (apart * apart * k * (n - k) <= most) continue;
    most = apart * apart * k * (n - k);
    best = i + 1;
  }
  return best;
}

// The first row of the second stretch, where the rows go from this reading's level to the next's.
std::optional<std::size_t> change_of_level(const Track& track, const Rows& rows, double own,
                                           double next) {
  const std::size_t at = split(track, rows);
  if (at == rows.first || at == rows.last) return {};
  const double first = middle_of(track, {rows.first, at});
  const double second = middle_of(track, {at, rows.last});
  const double allowed = near_level * std::abs(second - first);
  if (std::abs(first - own) > allowed || std::abs(second - next) > allowed) return {};
  return at;
}

std::optional<std::size_t> change_of_word(const Track& track, const Rows& rows,
                                          const std::string& next) {
  std::size_t i = rows.last;
  while (i > rows.first && track.word[i - 1] == next) --i;
  // A signal that shows one word all the time has not changed early: it is wrong.
  if (i == rows.last || i == rows.first) return {};
  return i;
}

}  // namespace

std::vector<Rows> judged_rows(const Track& track, const std::vector<Plateau>& all,
                              std::int64_t settling_ns) {
  const bool states = !track.word.empty();
  const ShownLine line = states ? ShownLine{} : shown_line(track, all);
  // When the frames went from a plateau to the next before its stamp; its stamp, where they did
  // not.
  const auto change_ns = [&](const Plateau& from, const Plateau& to, std::int64_t settled_ns) {
    const std::int64_t earliest = std::max({from.from_ns, settled_ns, to.earliest_ns});
    if (earliest >= to.from_ns) return to.from_ns;
    const Rows rows = rows_between(track, earliest, to.from_ns);
    const Rows after = first_half(rows_between(track, to.from_ns, to.to_ns));
    std::optional<std::size_t> at;
    if (states) {
      at = change_of_word(track, rows, to.state);
    } else if (rows.size() > 1 && after.size() > 0) {
      at = change_of_level(track, rows, line.at(from.value), middle_of(track, after));
    }
    return at ? track.t_ns[*at] : to.from_ns;
  };
  std::vector<Rows> judged;
  std::int64_t begun = all.empty() ? 0 : all.front().from_ns;  // by the frames
  for (std::size_t i = 0; i < all.size(); ++i) {
    const std::int64_t from = std::max(all[i].from_ns, begun + settling_ns);
    const bool last = i + 1 == all.size();
    begun = last ? all[i].to_ns : change_ns(all[i], all[i + 1], from);
    judged.push_back(from < begun ? rows_between(track, from, begun) : Rows{});
  }
  return judged;
}

}  // namespace foundling
