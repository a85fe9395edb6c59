#include "decoder/analysis/delay.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "decoder/analysis/line_fit.h"
#include "decoder/analysis/ripple.h"

namespace foundling {
namespace {

// The stimulus as pieces: from t on the value is `value` and rises by `slope` a second.
struct Piece {
  double t_s;
  double value;
  double slope;
};

struct Knot {
  double t;
  double value;
  double slope;
};

// Slopes of the smooth curve through readings that overshoots nowhere (F. N. Fritsch, J. Butland,
// SIAM J. Sci. Stat. Comput. 5 (1984) 300): the harmonic mean of the chords on both sides, 0 at a
// peak. Chords alone cut every peak off, and make a board that follows closely look too lively.
void set_slopes(std::vector<Knot>& knots) {
  const auto chord = [&](std::size_t i) {
    return (knots[i + 1].value - knots[i].value) / (knots[i + 1].t - knots[i].t);
  };
  for (std::size_t i = 1; i + 1 < knots.size(); ++i) {
    const double left = chord(i - 1);
    const double right = chord(i);
    const double before = knots[i].t - knots[i - 1].t;
    const double after = knots[i + 1].t - knots[i].t;
    const double share = (before + 2 * after) / (3 * (before + after));
    knots[i].slope = left * right > 0 ? left * right / (share * right + (1 - share) * left) : 0;
  }
}

// A moving channel: short straight pieces along that curve.
void add_curve(std::vector<Piece>& pieces, const std::vector<Knot>& knots) {
  constexpr int parts = 4;
  for (std::size_t i = 0; i < knots.size(); ++i) {
    if (i + 1 == knots.size()) {
      pieces.push_back({knots[i].t, knots[i].value, 0});
      return;
    }
    const Knot& a = knots[i];
    const Knot& b = knots[i + 1];
    const double length = b.t - a.t;
    double value = a.value;
    for (int k = 0; k < parts; ++k) {
      const double u = static_cast<double>(k + 1) / parts;  // cubic Hermite
      const double next = (1 + 2 * u) * (1 - u) * (1 - u) * a.value +
                          u * (1 - u) * (1 - u) * length * a.slope + u * u * (3 - 2 * u) * b.value +
                          u * u * (u - 1) * length * b.slope;
      pieces.push_back({a.t + length * k / parts, value, (next - value) * parts / length});
      value = next;
    }
  }
}

std::vector<Piece> pieces_of(const ChannelSeries& channel) {
  std::vector<Piece> pieces;
  std::vector<Knot> knots;
  for (const Reading& reading : channel.readings) {
    const double t = static_cast<double>(reading.t_ns) * 1e-9;
    if (channel.channel.kind == ChannelKind::hold) {
      pieces.push_back({t, reading.value, 0});
    } else if (!std::isfinite(reading.value)) {
      continue;
    } else if (knots.empty() || t > knots.back().t) {
      knots.push_back({t, reading.value, 0});
    }
  }
  if (channel.channel.kind == ChannelKind::hold) return pieces;
  set_slopes(knots);
  add_curve(pieces, knots);
  return pieces;
}

// Frames to fit on: all that the channel covers, thinned evenly.
struct Track {
  std::vector<std::int64_t> times;
  std::vector<double> raw;
};

Track track_of(const Stream& stream, const Span& span, Coding coding) {
  constexpr std::size_t most = 6000;
  Track track;
  CodedFrames frames;
  const std::size_t stride = stream.bits.frames() / most + 1;
  for (std::size_t i = 0; i < stream.bits.frames(); i += stride) {
    frames.frame.push_back(i);
    track.times.push_back(stream.bits.times()[i]);
  }
  track.raw = coded_values(stream, frames, span, coding);
  return track;
}

struct LagFit {
  double r2 = 0;
  std::vector<double> residuals;
};

LagFit fit_at(const ChannelSeries& channel, const Lag& lag, const Track& track) {
  const std::vector<double> x = lagged(channel, lag, track.times);
  std::vector<double> xs;
  std::vector<double> ys;
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (!std::isfinite(x[i])) continue;
    xs.push_back(x[i]);
    ys.push_back(track.raw[i]);
  }
  if (xs.size() < 8) return {};
  const LineFit line = fit_line(xs, ys);
  if (!std::isfinite(line.r2)) return {};
  for (std::size_t i = 0; i < xs.size(); ++i) ys[i] -= line.intercept + line.slope * xs[i];
  return {line.r2, std::move(ys)};
}

double r2_at(const ChannelSeries& channel, const Lag& lag, const Track& track) {
  return fit_at(channel, lag, track).r2;
}

double independent_residuals(const LagFit& fit) {
  const std::vector<int> one_row(fit.residuals.size(), 0);
  return static_cast<double>(fit.residuals.size()) * independent_share(fit.residuals, one_row);
}

// From how fast the squared residuals grow on both sides of the best time constant, and how many of
// the residuals are independent.
double error_of_time_constant(const ChannelSeries& channel, const Lag& best, const Track& track) {
  const LagFit fit = fit_at(channel, best, track);
  const double independent = independent_residuals(fit);
  const double step = 0.1 * best.time_constant_s;
  double growth = 0;
  for (const double side : {-step, step}) {
    const Lag beside{best.delay_s - side, best.time_constant_s + side};
    growth += (fit.r2 - r2_at(channel, beside, track)) / (1 - fit.r2) / 2;
  }
  if (!(growth > 0) || !(independent > 1)) return best.time_constant_s / 2;
  return std::min(best.time_constant_s / 2, step / std::sqrt(growth * independent));
}

// Narrows a bracket around the best value of one coordinate by thirds.
template <typename Score>
double narrow(double from, double to, double tolerance, Score score) {
  while (to - from > tolerance) {
    const double a = from + (to - from) / 3;
    const double b = to - (to - from) / 3;
    if (score(a) < score(b)) {
      from = a;
    } else {
      to = b;
    }
  }
  return (from + to) / 2;
}

}  // namespace

std::vector<double> lagged(const ChannelSeries& channel, const Lag& lag,
                           std::span<const std::int64_t> times) {
  const std::vector<Piece> pieces = pieces_of(channel);
  std::vector<double> out(times.size(), std::numeric_limits<double>::quiet_NaN());
  if (pieces.empty()) return out;
  const double tau = lag.time_constant_s;
  double y = pieces.front().value;  // the low-pass's state at time `at`
  double at = pieces.front().t_s;
  std::size_t k = 0;
  // The exact answer of a first-order low-pass to a ramp: y follows value - slope * tau.
  const auto advance = [&](double to) {
    const Piece& p = pieces[k];
    const double u = p.value + p.slope * (to - p.t_s);
    if (tau <= 0 || !std::isfinite(y)) {
      y = u;  // what held before an unknown value is forgotten
    } else {
      const double u0 = p.value + p.slope * (at - p.t_s);
      y = u - p.slope * tau + (y - u0 + p.slope * tau) * std::exp(-(to - at) / tau);
    }
    at = to;
  };
  for (std::size_t i = 0; i < times.size(); ++i) {
    const double t = static_cast<double>(times[i]) * 1e-9 - lag.delay_s;
    if (t < pieces.front().t_s) continue;
    while (k + 1 < pieces.size() && pieces[k + 1].t_s <= t) {
      advance(pieces[k + 1].t_s);
      ++k;
    }
    advance(t);
    out[i] = y;
  }
  return out;
}

constexpr double most_delay_s = 5;
constexpr double most_tau_s = 6;

bool at_limit_of_lag(const Lag& lag) {
  constexpr double near = 0.05;  // s; at the far end a step of the search
  return lag.delay_s < -0.5 + near || lag.delay_s > most_delay_s - 0.25;
}

Lag fit_lag(const Stream& stream, const ChannelSeries& channel, const Span& span, Coding coding) {
  const Track track = track_of(stream, span, coding);
  const auto score = [&](double delay, double tau) {
    return r2_at(channel, Lag{delay, tau}, track);
  };
  Lag best{0, 0, 0, score(0, 0)};
  const auto keep = [&](double delay, double tau) {
    const double r2 = score(delay, tau);
    if (r2 > best.r2) best = {delay, tau, 0, r2};
  };
  for (int i = -2; i <= 20; ++i) keep(0.25 * i, 0);
  const double coarse = best.delay_s;
  best.delay_s = narrow(std::max(-0.5, coarse - 0.25), std::min(5.0, coarse + 0.25), 0.002,
                        [&](double d) { return score(d, 0); });
  best.r2 = score(best.delay_s, 0);
  // What the frames fix best is the sum of delay and low-pass, so they are narrowed down as that
  // sum and the share of the low-pass.
  const auto of_total = [&](double total, double tau) { return score(total - tau, tau); };
  double total = best.delay_s;
  double tau = 0;
  double most = best.r2;
  for (const double tried : {0.1, 0.2, 0.5, 1.0, 2.0, 4.0}) {
    for (const double sum : {best.delay_s, best.delay_s + tried / 2, best.delay_s + tried}) {
      const double r2 = of_total(sum, tried);
      if (sum - tried < -0.5 || r2 <= most) continue;
      total = sum;
      tau = tried;
      most = r2;
    }
  }
  if (tau == 0) return best;
  // Along three directions in turn: the sum alone, the share at a fixed sum (a stimulus of steps
  // leaves that open), the time constant at a fixed delay (a lively one fixes that). Each must
  // gain.
  const auto keep_better = [&](double new_total, double new_tau) {
    const double r2 = of_total(new_total, new_tau);
    const double delay = new_total - new_tau;
    if (delay < -0.5 || delay > most_delay_s || new_tau > most_tau_s || r2 <= most) return;
    total = new_total;
    tau = new_tau;
    most = r2;
  };
  for (int round = 0; round < 4; ++round) {
    const double reach = round == 0 ? 0.3 : 0.1;
    keep_better(
        narrow(total - reach, total + reach, 0.002, [&](double sum) { return of_total(sum, tau); }),
        tau);
    keep_better(total, narrow(tau / 2, std::min(tau * 2, total + 0.5), 0.004,
                              [&](double tried) { return of_total(total, tried); }));
    const double delay = total - tau;
    const double alone =
        narrow(tau / 2, tau * 2, 0.004, [&](double tried) { return score(delay, tried); });
    keep_better(delay + alone, alone);
  }
  // Of a channel that rests, it must explain visibly more than the delay alone. A moving one's line
  // turns with it: there it is taken as soon as it is not by luck (two standard errors).
  Lag slow{total - tau, tau, 0, most};
  const LagFit without = fit_at(channel, best, track);
  const double gain = (slow.r2 - best.r2) / (1 - best.r2);
  const bool visible = gain > 0.03;
  const bool sound =
      channel.channel.kind == ChannelKind::sample && gain * independent_residuals(without) > 4;
  if (visible || sound) {
    slow.time_constant_se = error_of_time_constant(channel, slow, track);
    return slow;
  }
  best.time_constant_se = tau / 2;
  return best;
}

}  // namespace foundling
