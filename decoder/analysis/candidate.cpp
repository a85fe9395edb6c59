#include "decoder/analysis/candidate.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "decoder/analysis/lagged_rows.h"
#include "decoder/analysis/observation_priors.h"
#include "decoder/analysis/plateau_points.h"

namespace foundling {
namespace {

// Every row's mean and frames, and how the frames scatter.
struct Fit {
  std::vector<double> raw;
  std::vector<std::size_t> frames;
  Ripple ripple;
};

// A moving channel's field moves too: what is left of its second differences is the scatter.
double scatter_about_motion(std::span<const double> values) {
  if (values.size() < 3) return 0;
  double squares = 0;
  for (std::size_t i = 2; i < values.size(); ++i) {
    const double bend = values[i] - 2 * values[i - 1] + values[i - 2];
    squares += bend * bend;
  }
  return std::sqrt(squares / (6 * static_cast<double>(values.size() - 2)));
}

Fit fit_rows(const Stream& stream, const RowSet& set, std::int64_t delay_ns, const Field& field,
             double step) {
  Fit fit;
  const FrameRanges ranges = frames_of_rows(stream, set, delay_ns);
  fit.raw = raw_row_means(stream, ranges, field.span, field.coding);
  std::size_t frames = 0;
  for (const auto& [from, to] : ranges) {
    fit.frames.push_back(to - from);
    frames += to - from;
  }
  const CodedFrames coded = coded_frames(stream, set, delay_ns, 20000);
  const std::vector<double> values = coded_values(stream, coded, field.span, field.coding);
  if (set.kind == ChannelKind::sample) {
    fit.ripple.output = scatter_about_motion(values);
    return fit;
  }
  fit.ripple = ripple_of(values, coded.plateau, step);
  // Thinned frames are less alike than all of them: the number that counts is theirs.
  const double thinned =
      static_cast<double>(values.size()) / static_cast<double>(std::max<std::size_t>(frames, 1));
  fit.ripple.independent *= std::min(1.0, thinned);
  return fit;
}

// How much of the residual is new from row to row (von Neumann's ratio, halved): near 1 for
// independent errors, near 0 for a slow wander that only looks like the channel.
double coherence_of(const RowSet& set, std::span<const double> raw, const LineFit& line) {
  double square = 0;
  double steps = 0;
  double last = 0;
  int n = 0;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    if (!std::isfinite(raw[i])) continue;
    const double r = set.rows[i].x - line.intercept - line.slope * raw[i];
    square += r * r;
    if (n > 0) steps += (r - last) * (r - last);
    last = r;
    ++n;
  }
  return square > 0 && n > 2 ? std::min(1.0, steps / (2 * square)) : 1;
}

// Bits that a line saves on a row, in the mean, of a quantity with that range. Most rows lie about
// the line normally, some anywhere in the range, and to say which costs bits too: so a field that
// moves while the channel rests, or is cut short, is not saved by those rows at which it fits.
double bits_a_row(const std::vector<double>& off, double floor, double range) {
  const double deviation = std::hypot(1.4826 * median_of(off), floor);
  const auto far = std::ranges::count_if(off, [&](double o) { return o > odd_level * deviation; });
  const double rows = static_cast<double>(off.size());
  const double share = (static_cast<double>(far) + 1) / (rows + 2);  // Laplace's rule of succession
  double bits = 0;
  for (const double o : off) {
    const double z = o / deviation;
    // A row that is off by just the deviation saves log2(range / deviation).
    bits += std::log2((1 - share) * range / deviation * std::exp((1 - z * z) / 2) + share);
  }
  return bits / rows;
}

// Bits that the line saves on the levels, less what its numbers cost. Residuals below what x itself
// is known to, what rounding leaves, or a ten-thousandth of its range are all the same: a coarse
// field that happens to fit well is no better for it.
double score_of(const RowSet& set, const Calibration& c, std::span<const double> raw,
                const RoundLine& round, double step) {
  double u = 0;
  double low = c.levels.front().x;
  double high = low;
  for (const LevelPoint& p : c.levels) {
    u = std::max(u, std::sqrt(p.x_variance));
    low = std::min(low, p.x);
    high = std::max(high, p.x);
  }
  const double rounding = std::abs(c.line.slope) * step / std::sqrt(12.0);
  const double floor = std::max({u, rounding, 1e-4 * (high - low), 1e-300});
  std::vector<double> off;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    if (!std::isfinite(raw[i])) continue;
    off.push_back(std::abs(set.rows[i].x - c.line.intercept - c.line.slope * raw[i]));
  }
  const double n = std::min<double>(static_cast<double>(c.levels.size()),
                                    set.kind == ChannelKind::sample ? 30 : 60);
  return n * bits_a_row(off, floor, high - low) - round.cost_bits;
}

}  // namespace

std::optional<Candidate> complete(const Stream& stream, std::size_t index, const RowSet& set,
                                  std::int64_t delay_ns, const Field& field) {
  const double step = field.coding == Coding::ieee754 ? 0 : 1;
  const Fit fit = fit_rows(stream, set, delay_ns, field, step);
  Candidate candidate;
  candidate.stream = index;
  candidate.field = field;
  candidate.calibration = calibrate(set, fit.raw, fit.ripple, fit.frames, step);
  if (candidate.calibration.levels.size() < 3) return {};
  candidate.coherence = coherence_of(set, fit.raw, candidate.calibration.line);
  RoundTolerance tolerance;
  if (step == 0) tolerance.zero_lsb = 0;
  candidate.round = round_line(candidate.calibration, field.span, tolerance);
  candidate.score = score_of(set, candidate.calibration, fit.raw, candidate.round, step);
  return candidate;
}

namespace {

bool stands_still(std::span<const double> bit_means) {
  std::optional<double> first;
  for (const double mean : bit_means) {
    if (!std::isfinite(mean)) continue;
    if (first && mean != *first) return false;
    first = mean;
  }
  return first && (*first == 0 || *first == 1);
}

// The field with the still bits above it, up to the end of a byte; none if there are none.
std::optional<Candidate> with_still_top(const Stream& stream, const RowSet& set,
                                        std::int64_t delay_ns, const Candidate& bare,
                                        ByteOrder order) {
  Candidate out = bare;
  Field& wide = out.field;
  if (wide.coding != Coding::natural) return {};
  do {
    const auto wider = Span::from_lsb(wide.span.lsb, wide.span.width() + 1, order);
    if (!wider || wider->last_byte() * 8 >= stream.bits.bits()) break;
    const int bit = bit_index(wider->msb);
    if (stream.owned[static_cast<std::size_t>(bit)]) break;
    if (!stands_still(
            raw_row_means(stream, set, delay_ns, {wider->msb, wider->msb}, Coding::natural))) {
      break;
    }
    wide.span = *wider;
    // Untested are the bits that never changed at all, from the top down.
    wide.still_top = stream.bits.moves(bit) ? 0 : wide.still_top + 1;
  } while (wide.span.msb.bit < 7);
  if (wide.span == bare.field.span) return {};
  return complete(stream, bare.stream, set, delay_ns, wide);
}

// Still bits above a field may be its own, as a still 1 above an offset or a plain 0. Those of its
// last byte are taken in where that does not make the numbers less round, further bytes where it
// makes them clearly rounder.
void take_still_top(const Stream& stream, const RowSet& set, std::int64_t delay_ns,
                    Candidate& candidate) {
  constexpr int most_bits = 32;
  constexpr double clearly = 4;  // bits
  std::vector<Candidate> better;
  for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
    const ByteOrder own = candidate.field.span.order();
    if (own != ByteOrder::single && own != order) continue;
    Candidate best = candidate;
    Candidate wide = candidate;
    while (wide.field.span.width() <= most_bits - 8) {
      const bool same_byte = wide.field.span.msb.bit < 7;
      auto next = with_still_top(stream, set, delay_ns, wide, order);
      if (!next) break;
      wide = std::move(*next);
      const double limit = best.round.cost_bits - (same_byte ? -1e-9 : clearly);
      if (wide.round.cost_bits <= limit) best = wide;
    }
    if (!(best.field.span == candidate.field.span)) better.push_back(std::move(best));
  }
  // A field within a byte has no order yet: if both neighbours would do, neither is taken.
  const bool agree = !better.empty() && better.front().field.span == better.back().field.span;
  if (!agree) return;
  better.front().lag = candidate.lag;
  candidate = std::move(better.front());
}

// The field was found with the lag of another, whose rows may lack the few levels at which its top
// bits differ. Those come back with its own lag: bits above that explain nearly all that is left.
Field with_moved_top(const Stream& stream, const RowSet& set, std::int64_t delay_ns, Field field) {
  const ByteOrder order = field.span.order();
  if (field.coding != Coding::natural || order == ByteOrder::single) return field;
  const auto unexplained = [&](const Span& span) {
    return 1 - row_r2(set, raw_row_means(stream, set, delay_ns, span, field.coding));
  };
  double left = unexplained(field.span);
  while (field.span.width() < 32) {
    const auto wider = Span::from_lsb(field.span.lsb, field.span.width() + 1, order);
    if (!wider || wider->last_byte() * 8 >= stream.bits.bits()) break;
    if (!stream.moving[static_cast<std::size_t>(bit_index(wider->msb))]) break;
    const double left_of_wider = unexplained(*wider);
    if (left_of_wider > 0.1 * left) break;
    field.span = *wider;
    left = left_of_wider;
  }
  return field;
}

// A time constant is known only so well, and the line turns with it: a second line a standard error
// beside the best shows by how much.
void widen_by_lag(const Stream& stream, const ChannelSeries& channel, std::int64_t end_ns,
                  Candidate& candidate) {
  const double error = candidate.lag.time_constant_se;
  if (!(error > 0)) return;
  const Lag beside{candidate.lag.delay_s - error, candidate.lag.time_constant_s + error};
  const RowSet rows = lagged_rows(stream, channel, beside, end_ns);
  const auto other = complete(stream, candidate.stream, rows,
                              static_cast<std::int64_t>(beside.delay_s * 1e9), candidate.field);
  if (!other) return;
  const auto widen = [](Interval& interval, double change) {
    const double middle = (interval.low + interval.high) / 2;
    const double half = std::hypot((interval.high - interval.low) / 2, 1.96 * change);
    interval = {middle - half, middle + half};
  };
  Calibration& c = candidate.calibration;
  widen(c.scale, other->calibration.line.slope - c.line.slope);
  widen(c.offset, other->calibration.line.intercept - c.line.intercept);
}

}  // namespace

// Each field has a lag of its own: its line is fitted on rows read with that.
Candidate with_own_lag(const Stream& stream, const ChannelSeries& channel, std::int64_t end_ns,
                       const Candidate& candidate, const Lag& lag) {
  Candidate out = candidate;
  const auto delay_ns = static_cast<std::int64_t>(lag.delay_s * 1e9);
  const RowSet rows = lagged_rows(stream, channel, lag, end_ns);
  const Field field = with_moved_top(stream, rows, delay_ns, candidate.field);
  if (auto fitted = complete(stream, candidate.stream, rows, delay_ns, field)) {
    out = std::move(*fitted);
  }
  out.lag = lag;
  take_still_top(stream, rows, delay_ns, out);
  widen_by_lag(stream, channel, end_ns, out);
  return out;
}

void set_field(Proposal& p, const Candidate& c) {
  const Coding coding = c.field.coding;
  p.is_float = coding == Coding::ieee754;
  p.is_signed = coding != Coding::natural && coding != Coding::decimal && !p.is_float;
  if (!is_plain(coding) && !p.is_float) p.other_coding = coding;
  p.untested_high_bits = c.field.still_top;
  p.delay_s = c.lag.delay_s;
  p.time_constant_s = c.lag.time_constant_s;
}

void set_line(Proposal& p, const Candidate& c) {
  p.scale = c.round.scale;
  p.offset = c.round.offset;
  p.scale_fitted = c.calibration.line.slope;
  p.offset_fitted = c.calibration.line.intercept;
  p.scale_interval = c.calibration.scale;
  p.offset_interval = c.calibration.offset;
  p.residual_rms = c.calibration.residual_rms;
}

bool takes_place(const Candidate& a, const Candidate& b) {
  if (is_plain(a.field.coding) && is_plain(b.field.coding)) {
    return reads_better(a.field, b.field);
  }
  const double ratio = unexplained_ratio(a.field, b.field);
  // A digit more must tell something, for a neighbour's below changes nothing; so must a rare code
  // in place of a plain one.
  const Span& ours = a.field.span;
  const Span& theirs = b.field.span;
  const bool same = a.field.coding == b.field.coding;
  if (same && !(ours.lsb == theirs.lsb)) return ratio < (ours.width() < theirs.width() ? 2 : 0.5);
  if (!same && a.field.coding != Coding::ieee754 && b.field.coding != Coding::ieee754) {
    return ratio < (is_plain(a.field.coding) ? 2 : 0.5);
  }
  return ratio < 0.5 || (ratio < 2 && a.round.cost_bits < b.round.cost_bits);
}

}  // namespace foundling
