#include "decoder/relate/sum_scale.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <set>

#include "decoder/analysis/round_numbers.h"
#include "decoder/relate/board_at_rest.h"
#include "decoder/relate/linear.h"
#include "decoder/relate/middle.h"
#include "schemas/values/unit.h"

namespace foundling::relate {
namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();
// A person reads a meter after it has settled; a board is late, and a stamp may be early.
constexpr std::array<double, 7> lags_s{0, 0.5, 1, 1.5, 2, 3, 4};
constexpr double least_r2 = 0.98;
constexpr double than_a_member = 0.5;  // of what the best member leaves

// Readings beside what the board said at the time.
struct Pairs {
  std::vector<double> whole;    // readings
  std::vector<double> board;    // codes
  std::vector<double> current;  // A; empty where there is none
};

double reading_at(const ChannelSeries& channel, std::int64_t t_ns) {
  double value = nothing;
  for (const Reading& reading : channel.readings) {
    // What was written down together belongs together.
    if (reading.t_ns > t_ns + 1'000'000'000) break;
    value = reading.value;
  }
  return value;
}

Pairs pairs_of(const ChannelSeries& channel, const BoardAtRest& track, double lag_s,
               const ChannelSeries* current) {
  Pairs pairs;
  const auto& readings = channel.readings;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const auto lag_ns = static_cast<std::int64_t>(lag_s * 1e9);
    if (i + 1 < readings.size() && readings[i + 1].t_ns - readings[i].t_ns < lag_ns) continue;
    const double board = track.at(readings[i].t_ns, lag_s);
    const double ampere = current == nullptr ? 0 : reading_at(*current, readings[i].t_ns);
    if (std::isnan(board) || std::isnan(ampere)) continue;
    pairs.whole.push_back(readings[i].value);
    pairs.board.push_back(board);
    if (current != nullptr) pairs.current.push_back(ampere);
  }
  return pairs;
}

double mean(const std::vector<double>& values) {
  double sum = 0;
  for (const double v : values) sum += v;
  return sum / static_cast<double>(values.size());
}

std::vector<double> about_mean(const std::vector<double>& values) {
  const double center = mean(values);
  std::vector<double> out;
  for (const double v : values) out.push_back(v - center);
  return out;
}

struct WholeFit {
  bool ok = false;
  double slope = 0, slope_deviation = 0;
  double at_mean = 0, at_mean_deviation = 0;  // the whole where the board is at its mean
  double board_mean = 0;
  double resistance = 0;
  double r2 = 0;
  double left = 0;  // standard deviation
  std::size_t used = 0, left_out = 0;
};

// A straight line, and a current's share; what is off by four usual deviations is left out, a fifth
// of the readings at most.
WholeFit fit_whole(const Pairs& pairs) {
  WholeFit out;
  const std::size_t n = pairs.whole.size();
  if (n < fewest_readings) return out;
  out.board_mean = mean(pairs.board);
  std::vector<std::vector<double>> columns{about_mean(pairs.board), std::vector<double>(n, 1.0)};
  if (!pairs.current.empty()) columns.push_back(about_mean(pairs.current));
  const std::vector<double> y = about_mean(pairs.whole);
  std::vector<bool> use(n, true);
  std::vector<double> left(n);
  Fit found;
  for (int turn = 0; turn < 4; ++turn) {
    found = fit(columns, y, 0, use);
    if (!found.ok) return out;
    for (std::size_t i = 0; i < n; ++i) {
      left[i] = y[i];
      for (std::size_t c = 0; c < columns.size(); ++c) left[i] -= found.slope[c] * columns[c][i];
    }
    const double bound = 4 * usual_size(left);
    std::vector<bool> next(n);
    for (std::size_t i = 0; i < n; ++i) next[i] = std::abs(left[i]) <= bound;
    if (turn == 3 || std::ranges::count(next, false) * 5 > static_cast<std::ptrdiff_t>(n)) break;
    use = next;
  }
  out.used = static_cast<std::size_t>(std::ranges::count(use, true));
  out.left_out = n - out.used;
  if (out.used < fewest_readings) return out;
  double squares = 0;
  for (std::size_t i = 0; i < n; ++i) squares += use[i] ? left[i] * left[i] : 0;
  out.left = std::sqrt(squares / static_cast<double>(out.used - columns.size()));
  out.slope = found.slope[0];
  out.slope_deviation = found.deviation[0];
  out.at_mean = found.slope[1] + mean(pairs.whole);
  out.at_mean_deviation = found.deviation[1];
  if (columns.size() > 2) out.resistance = found.slope[2];
  out.r2 = found.r2;
  out.ok = true;
  return out;
}

struct Best {
  WholeFit fit;
  double lag_s = 0;
  Pairs pairs;
};

Best best_lag(const ChannelSeries& channel, const BoardAtRest& board,
              const ChannelSeries* current) {
  Best best;
  for (const double lag : lags_s) {
    const Pairs pairs = pairs_of(channel, board, lag, current);
    const WholeFit fit = fit_whole(pairs);
    if (fit.ok && (!best.fit.ok || fit.left < best.fit.left)) best = {fit, lag, pairs};
  }
  return best;
}

bool is_in(const ChannelSeries& channel, std::string_view unit) {
  return !channel.channel.is_state() && unit_conversion(channel.channel.unit, unit).has_value();
}

bool enough_levels(const ChannelSeries& channel) {
  std::set<double> values;
  for (const Reading& reading : channel.readings) values.insert(reading.value);
  return values.size() >= fewest_readings;
}

Calibration calibration_of(const Best& best, double n) {
  Calibration out;
  const WholeFit& f = best.fit;
  const double dof = static_cast<double>(f.used) - 2 - (best.pairs.current.empty() ? 0 : 1);
  const double t = student_t(0.95, std::max(dof, 1.0));
  out.line.slope = f.slope;
  out.line.slope_se = f.slope_deviation;
  out.line.intercept = (f.at_mean - f.slope * f.board_mean) / n;
  out.line.intercept_se = std::hypot(f.at_mean_deviation, f.slope_deviation * f.board_mean) / n;
  out.line.r2 = f.r2;
  out.line.n = f.used;
  out.scale = {f.slope - t * f.slope_deviation, f.slope + t * f.slope_deviation};
  const double half = t * out.line.intercept_se;
  out.offset = {out.line.intercept - half, out.line.intercept + half};
  out.residual_rms = f.left / n;
  for (std::size_t i = 0; i < best.pairs.whole.size(); ++i) {
    out.levels.push_back({best.pairs.board[i] / n, best.pairs.whole[i] / n});
  }
  return out;
}

// Codes of voltages mostly begin at zero. Where the readings allow that, and know the scale to
// twenty parts at least, the line through zero knows it better: an offset that is not zero would
// then be a small share of the voltage, which nobody chooses.
RoundLine round_through_zero(const Calibration& calibration, const Best& best, const Span& span) {
  const Interval& scale = calibration.scale;
  const double through = mean(best.pairs.whole) / mean(best.pairs.board);
  const bool known = scale.high - scale.low <= 0.1 * std::abs(calibration.line.slope);
  if (!known || !best.pairs.current.empty() || through < scale.low || through > scale.high) {
    return round_line(calibration, span);
  }
  Calibration zero = calibration;
  zero.line.slope = through;
  zero.line.intercept = 0;
  const double half = 0.001 * std::abs(through);  // rounding, always down or to the nearest
  zero.scale = {through - half, through + half};
  zero.offset = {-half, half};
  const RoundLine found = round_line(zero, span);
  return found.found ? found : RoundLine{true, through, 0, 0};
}

// About the common slope; the gain as a rectangular distribution (JCGM 100:2008, 4.3.7).
Interval with_members_gain(const Interval& common) {
  const double middle = (common.low + common.high) / 2;
  const double gain = 1.96 * members_gain / std::sqrt(3.0) * std::abs(middle);
  const double half = std::hypot((common.high - common.low) / 2, gain);
  return {middle - half, middle + half};
}

SumScale scale_from(const ChannelSeries& channel, const Best& best, const LookedAt& seen,
                    const SumRelation& sum) {
  const auto n = static_cast<double>(sum.members.size());
  const Calibration calibration = calibration_of(best, n);
  const RoundLine round =
      round_through_zero(calibration, best, seen.fields[sum.members.front()].place.span);
  SumScale out;
  out.channel = channel.channel.name;
  out.unit = channel.channel.unit;
  out.readings = best.fit.used;
  out.left_out = best.fit.left_out;
  out.lag_s = best.lag_s;
  out.scale_fitted = calibration.line.slope;
  out.offset_fitted = calibration.line.intercept;
  out.scale = round.found ? round.scale : out.scale_fitted;
  out.offset = round.found ? round.offset : out.offset_fitted;
  out.scale_interval = calibration.scale;
  out.offset_interval = calibration.offset;
  out.member_interval = with_members_gain(calibration.scale);
  out.residual_rms = best.fit.left;
  return out;
}

// Whether some member goes with the readings about as well: they may then be that member's.
bool is_of_a_member(const ChannelSeries& channel, const LookedAt& seen, const SumRelation& sum,
                    double left) {
  return std::ranges::any_of(sum.members, [&](std::size_t f) {
    const Best single =
        best_lag(channel, BoardAtRest(seen.tracks[f], seen.grid, seen.errors[f]), nullptr);
    return single.fit.ok && left > than_a_member * single.fit.left;
  });
}

}  // namespace

std::optional<SumScale> scale_of_sum(const LookedAt& seen, const SumRelation& sum,
                                     std::span<const ChannelSeries> channels) {
  const Track track = sum_of(seen, sum.members);
  double squares = 0;
  for (const std::size_t f : sum.members) squares += seen.errors[f] * seen.errors[f];
  const BoardAtRest board(track, seen.grid, std::sqrt(squares));
  const auto amperes = std::ranges::find_if(channels, [](const auto& c) { return is_in(c, "A"); });
  std::optional<SumScale> found;
  double best_r2 = least_r2;
  for (const ChannelSeries& channel : channels) {
    if (!is_in(channel, "V") || !enough_levels(channel)) continue;
    Best best = best_lag(channel, board, nullptr);
    std::string current;
    if (amperes != channels.end() && channel.readings.size() > fewest_readings) {
      // The wires between cells and terminals drop something, which is not the cells' own.
      Best with = best_lag(channel, board, &*amperes);
      const bool few = channel.readings.size() < 2 * fewest_readings;
      if (with.fit.ok && (!best.fit.ok || with.fit.left < (few ? 0.3 : 0.7) * best.fit.left)) {
        best = std::move(with);
        current = amperes->channel.name;
      }
    }
    if (!best.fit.ok || best.fit.slope * sum.factor == 0 || best.fit.r2 < best_r2) continue;
    if (is_of_a_member(channel, seen, sum, best.fit.left)) continue;
    best_r2 = best.fit.r2;
    found = scale_from(channel, best, seen, sum);
    found->current = current;
    found->resistance = current.empty() ? 0 : best.fit.resistance;
  }
  return found;
}

}  // namespace foundling::relate
