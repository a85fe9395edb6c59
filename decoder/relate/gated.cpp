#include "decoder/relate/gated.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "decoder/relate/chance.h"
#include "decoder/relate/linear.h"
#include "decoder/relate/middle.h"

namespace foundling::relate {
namespace {

constexpr double least_r2 = 0.98;
constexpr double most_chance = 1e-3;
// Of the equality: what is moved by one plan is alike in many a short stretch.
constexpr double most_chance_equal = 1e-5;
constexpr double go_together = 0.25;  // r² of closed windows from which a pair needs no bit
constexpr std::size_t fewest_turns = 3;
constexpr std::size_t fewest_steps = 12;
constexpr int fewest_bits = 4;       // that moved, of a number
constexpr double off_line = 6;       // deviations: apart; on the line within as many
constexpr std::size_t settling = 6;  // windows, after the two have come together: a precharge's end
constexpr double nothing = 1e300;

// A bit read the other way round, for a field that is equal while it is clear.
struct Gate {
  const StateBit* bit = nullptr;
  bool while_set = true;
  [[nodiscard]] bool is_open(std::size_t w) const {
    return bit->track[w] == (while_set ? 1.0 : 0.0);
  }
  [[nodiscard]] bool opens(std::size_t flip) const { return bit->becomes_set(flip) == while_set; }
};

// Windows of open runs once they are settled; not a number elsewhere.
Track while_open(const Gate& gate, const Track& track) {
  Track out(track.size(), std::nan(""));
  std::size_t open_for = 0;
  for (std::size_t w = 0; w < track.size(); ++w) {
    open_for = gate.is_open(w) ? open_for + 1 : 0;
    const bool ends = w + 1 < track.size() && !gate.is_open(w + 1);
    if (open_for > settling && !ends) out[w] = track[w];
  }
  return out;
}

std::vector<double> known(const Track& track) {
  std::vector<double> out = track;
  std::erase_if(out, [](double one) { return std::isnan(one); });
  return out;
}

// The last window of each closed run; a field has had the longest to leave by then.
std::vector<std::size_t> closed_ends(const Gate& gate) {
  std::vector<std::size_t> out;
  const StateBit& bit = *gate.bit;
  for (std::size_t i = 0; i < bit.flips.size(); ++i) {
    if (gate.opens(i)) {
      if (bit.flips[i] >= 2) out.push_back(bit.flips[i] - 2);
    } else if (i + 1 == bit.flips.size() && bit.track.size() >= 2) {
      out.push_back(bit.track.size() - 2);
    }
  }
  return out;
}

// Whether the field is elsewhere at the end of nearly each closed run than it ever is in open ones:
// cheap, and most fields and bits fail here.
bool leaves(const LookedAt& seen, const Gate& gate, std::size_t field) {
  const std::vector<double> open = known(while_open(gate, seen.tracks[field]));
  if (open.size() < 2 * fewest_steps) return false;
  const double low = at_share(open, 0.02);
  const double high = at_share(open, 0.98);
  std::size_t away = 0;
  const std::vector<std::size_t> ends = closed_ends(gate);
  for (const std::size_t w : ends) {
    const double code = seen.tracks[field][w];
    away += code < low - seen.errors[field] || code > high + seen.errors[field] ? 1U : 0U;
  }
  return away >= 2 && away * 10 >= ends.size() * 9;
}

struct Equal {
  Line line;
  double constant = 0;
  double deviation = 0;  // of one window about the line
  double chance = 1;
  std::size_t steps = 0;
};

std::optional<Equal> equal_while_open(const LookedAt& seen, const Gate& gate, std::size_t field,
                                      std::size_t of, double tried) {
  Track motion = while_open(gate, seen.motions[field]);
  join_motion(motion, seen.motions[of]);
  const Steps steps = settled_steps(motion);
  if (steps.size() < fewest_steps) return std::nullopt;
  const std::vector<double> x = differences(seen.tracks[of], steps);
  const std::vector<double> y = differences(seen.tracks[field], steps);
  Equal out;
  out.line = line_through_zero(x, y, seen.errors[of], seen.errors[field]);
  if (out.line.r2 < least_r2 || out.line.slope <= 0) return std::nullopt;
  std::vector<double> constants;
  for (const auto& step : steps) {
    constants.push_back(seen.tracks[field][step.second] -
                        out.line.slope * seen.tracks[of][step.second]);
  }
  out.constant = middle(constants);
  for (double& one : constants) one -= out.constant;
  out.deviation = std::max(usual_size(constants),
                           std::hypot(seen.errors[field], out.line.slope * seen.errors[of]));
  out.steps = steps.size();
  out.chance = chance_by_size(x, y, out.line.slope, tried);
  return out;
}

// Whether the two go together while the gate is closed as well, such as a sum and its mean whose
// offset the bit shifts, or that are sent at other times.
bool go_anyway(const LookedAt& seen, const Gate& gate, const Equal& equal, std::size_t field,
               std::size_t of) {
  Track motion = while_open({gate.bit, !gate.while_set}, seen.motions[field]);
  join_motion(motion, seen.motions[of]);
  const Steps steps = settled_steps(motion);
  if (steps.size() < fewest_steps / 2) return false;
  const Line line =
      line_through_zero(differences(seen.tracks[of], steps), differences(seen.tracks[field], steps),
                        seen.errors[of], seen.errors[field]);
  const double times = line.slope / equal.line.slope;
  return line.r2 >= go_together && times > 0.5 && times < 2;
}

// How far off the line, in deviations.
double off(const LookedAt& seen, const Equal& equal, std::size_t field, std::size_t of,
           std::size_t w) {
  const double rest =
      seen.tracks[field][w] - equal.line.slope * seen.tracks[of][w] - equal.constant;
  return std::isnan(rest) ? nothing : std::abs(rest) / equal.deviation;
}

bool is_known(const LookedAt& seen, std::size_t field, std::size_t of, std::size_t w) {
  return !std::isnan(seen.tracks[field][w]) && !std::isnan(seen.tracks[of][w]);
}

// On the line in nine of ten settled windows of open runs in which both rest, and in one of ten of
// the closed ones at most; off it at the end of each closed run.
bool holds(const LookedAt& seen, const Gate& gate, const Equal& equal, std::size_t field,
           std::size_t of) {
  const Track open = while_open(gate, seen.motions[field]);
  std::size_t on = 0, all = 0, on_closed = 0, closed = 0;
  for (std::size_t w = 0; w < open.size(); ++w) {
    const bool is_on = off(seen, equal, field, of, w) <= off_line;
    if (!gate.is_open(w) && is_known(seen, field, of, w)) {
      ++closed;
      on_closed += is_on ? 1U : 0U;
    }
    if (std::isnan(open[w]) || open[w] > 0 || !(seen.motions[of][w] <= 0)) continue;
    ++all;
    on += is_on ? 1U : 0U;
  }
  if (all < 2 * fewest_steps || on * 10 < all * 9 || on_closed * 10 > closed) return false;
  const std::vector<std::size_t> ends = closed_ends(gate);
  // Silence of either is no leaving.
  const auto silent =
      std::ranges::count_if(ends, [&](std::size_t w) { return !is_known(seen, field, of, w); });
  if (10 * silent > std::ssize(ends)) return false;
  return std::ranges::all_of(
      ends, [&](std::size_t w) { return off(seen, equal, field, of, w) > off_line; });
}

// How far in windows from a flip the field joins or leaves the line, the way the gate says.
double distance(const LookedAt& seen, const Gate& gate, const Equal& equal, std::size_t field,
                std::size_t of, std::size_t flip) {
  const StateBit& bit = *gate.bit;
  const std::size_t from = run_before(bit, flip);
  const std::size_t to = run_end(bit, flip);
  const bool opens = gate.opens(flip);
  double nearest = nothing;
  for (std::size_t w = from + 1; w < to; ++w) {
    const bool was_on = off(seen, equal, field, of, w - 1) <= off_line;
    const bool is_on = off(seen, equal, field, of, w) <= off_line;
    if (was_on == is_on || is_on != opens) continue;
    nearest = std::min(nearest, std::abs(static_cast<double>(w) - bit.flips[flip]));
  }
  return nearest;
}

// Were the bit and the field's coming and going unrelated, a flip would be as near with this
// chance, its run and the one before being as long as they are. The first of all is what the bit is
// chosen by.
double chance_of_gate(const LookedAt& seen, const Gate& gate, const Equal& equal, std::size_t field,
                      std::size_t of) {
  double log_chance = 0;
  double worst = 0;
  for (std::size_t i = 0; i < gate.bit->flips.size(); ++i) {
    const double windows = static_cast<double>(run_end(*gate.bit, i) - run_before(*gate.bit, i));
    const double near = 2 * distance(seen, gate, equal, field, of, i) + 1;
    const double one = std::log(std::min(1.0, near / windows));
    log_chance += one;
    worst = std::min(worst, one);
  }
  return std::exp(log_chance - worst);
}

// Its bit is filled in by the caller.
std::optional<GatedRelation> compare(const LookedAt& seen, const Gate& gate, std::size_t field,
                                     std::size_t of, double tried) {
  const auto equal = equal_while_open(seen, gate, field, of, tried);
  if (!equal || !holds(seen, gate, *equal, field, of)) return std::nullopt;
  if (go_anyway(seen, gate, *equal, field, of)) return std::nullopt;
  GatedRelation out;
  out.field = field;
  out.of = of;
  out.while_set = gate.while_set;
  out.factor = equal->line.slope;
  out.constant = equal->constant;
  out.r2 = equal->line.r2;
  out.steps = equal->steps;
  for (std::size_t i = 0; i < gate.bit->flips.size(); ++i) out.turns += gate.opens(i) ? 1U : 0U;
  out.chance_equal = equal->chance;
  out.chance_bit = chance_of_gate(seen, gate, *equal, field, of);
  return out;
}

double left(const GatedRelation& one) { return one.chance_equal + one.chance_bit; }

// One for each field: that of the least chance; other bits of it that do as well are named.
std::vector<GatedRelation> best_of(const std::vector<GatedRelation>& found) {
  std::vector<GatedRelation> out;
  for (const GatedRelation& one : found) {
    const auto same = std::ranges::find(out, one.field, &GatedRelation::field);
    if (same == out.end()) {
      out.push_back(one);
    } else if (left(one) < left(*same)) {
      *same = one;
    }
  }
  for (GatedRelation& best : out) {
    for (const GatedRelation& one : found) {
      if (one.field != best.field || one.of != best.of || one.bit == best.bit) continue;
      if (one.chance_bit <= std::sqrt(best.chance_bit)) best.same_bits.push_back(one.bit);
    }
  }
  return out;
}

bool is_number(const LookedAt& seen, std::size_t field) {
  return !seen.fields[field].is_other_cut && seen.fields[field].moved_bits >= fewest_bits;
}

// What leaves another while the gate is closed.
void find_at(const LookedAt& seen, const Gate& gate, std::size_t bit, double tried,
             std::vector<GatedRelation>& found) {
  for (std::size_t f = 0; f < seen.fields.size(); ++f) {
    if (!is_number(seen, f) || !leaves(seen, gate, f)) continue;
    for (std::size_t of = 0; of < seen.fields.size(); ++of) {
      if (of == f || !is_number(seen, of)) continue;
      auto one = compare(seen, gate, f, of, tried);
      if (!one) continue;
      one->bit = bit;
      found.push_back(*one);
    }
  }
}

}  // namespace

std::vector<GatedRelation> find_gated(const LookedAt& seen, std::span<const StateBit> bits) {
  const auto n = static_cast<double>(seen.fields.size());
  const auto gates = static_cast<double>(2 * bits.size());
  std::vector<GatedRelation> found;
  for (std::size_t bit = 0; bit < bits.size(); ++bit) {
    for (const bool while_set : {true, false}) {
      find_at(seen, {&bits[bit], while_set}, bit, gates * n * n, found);
    }
  }
  // The pairs that are left are so by their equality; all bits were tried on each.
  const double tried = gates * static_cast<double>(std::max<std::size_t>(1, found.size()));
  for (GatedRelation& one : found) one.chance_bit = std::min(1.0, tried * one.chance_bit);
  std::vector<GatedRelation> out = best_of(found);
  for (GatedRelation& one : out) {
    one.chance = std::min(1.0, left(one));
    one.strong = one.turns >= fewest_turns && one.chance <= most_chance &&
                 one.chance_equal <= most_chance_equal;
  }
  std::ranges::stable_sort(out, {}, &GatedRelation::chance);
  return out;
}

}  // namespace foundling::relate
