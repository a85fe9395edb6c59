#include "decoder/analysis/delay.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "decoder/analysis/line_fit.h"

namespace foundling {
namespace {

// The stimulus as pieces: from t on the value is `value` and rises by `slope` a second.
struct Piece {
  double t_s;
  double value;
  double slope;
};

std::vector<Piece> pieces_of(const ChannelSeries& channel) {
  std::vector<Piece> pieces;
  const auto& readings = channel.readings;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    if (!std::isfinite(readings[i].value)) continue;
    double slope = 0;
    if (channel.channel.kind == ChannelKind::sample && i + 1 < readings.size()) {
      const double dt = static_cast<double>(readings[i + 1].t_ns - readings[i].t_ns) * 1e-9;
      if (dt > 0) slope = (readings[i + 1].value - readings[i].value) / dt;
    }
    pieces.push_back({static_cast<double>(readings[i].t_ns) * 1e-9, readings[i].value, slope});
  }
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

double r2_at(const ChannelSeries& channel, const Lag& lag, const Track& track) {
  const std::vector<double> x = lagged(channel, lag, track.times);
  std::vector<double> xs;
  std::vector<double> ys;
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (!std::isfinite(x[i])) continue;
    xs.push_back(x[i]);
    ys.push_back(track.raw[i]);
  }
  if (xs.size() < 8) return 0;
  const double r2 = fit_line(xs, ys).r2;
  return std::isfinite(r2) ? r2 : 0;
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
    if (tau <= 0) {
      y = u;
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

Lag fit_lag(const Stream& stream, const ChannelSeries& channel, const Span& span, Coding coding) {
  const Track track = track_of(stream, span, coding);
  const auto score = [&](double delay, double tau) {
    return r2_at(channel, Lag{delay, tau, 0}, track);
  };
  Lag best{0, 0, score(0, 0)};
  const auto keep = [&](double delay, double tau) {
    const double r2 = score(delay, tau);
    if (r2 > best.r2) best = {delay, tau, r2};
  };
  for (int i = -2; i <= 20; ++i) keep(0.25 * i, 0);
  const double coarse = best.delay_s;
  best.delay_s = narrow(std::max(-0.5, coarse - 0.25), std::min(5.0, coarse + 0.25), 0.002,
                        [&](double d) { return score(d, 0); });
  best.r2 = score(best.delay_s, 0);
  // A low-pass must explain visibly more than the delay alone, or it is not claimed.
  Lag slow = best;
  for (const double tau : {0.1, 0.2, 0.5, 1.0, 2.0, 4.0}) {
    for (const double delay : {best.delay_s, best.delay_s - tau, best.delay_s - tau / 2}) {
      if (delay < -0.5) continue;
      const double r2 = score(delay, tau);
      if (r2 > slow.r2) slow = {delay, tau, r2};
    }
  }
  if (slow.time_constant_s > 0) {
    for (int round = 0; round < 3; ++round) {
      slow.delay_s = narrow(std::max(-0.5, slow.delay_s - 0.2), slow.delay_s + 0.2, 0.002,
                            [&](double d) { return score(d, slow.time_constant_s); });
      slow.time_constant_s = narrow(slow.time_constant_s / 2, slow.time_constant_s * 2, 0.005,
                                    [&](double tau) { return score(slow.delay_s, tau); });
    }
    slow.r2 = score(slow.delay_s, slow.time_constant_s);
    if (1 - slow.r2 < 0.9 * (1 - best.r2)) best = slow;
  }
  return best;
}

}  // namespace foundling
