#include "decoder/analysis/description.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <utility>

#include "decoder/analysis/line_fit.h"
#include "decoder/analysis/moments.h"

namespace foundling {
namespace {

constexpr double log2_e = 1.4426950408889634;

// Bits for an integer v under a rounded normal of that mean and deviation, with a thin flat tail so
// that a single outlier costs some 15 bits and not everything.
double rounded_normal_cost(double v, double mean, double sd, double range) {
  const double scale = 1 / (sd * std::sqrt(2.0));
  const double body =
      0.5 * (std::erf((v + 0.5 - mean) * scale) - std::erf((v - 0.5 - mean) * scale));
  constexpr double tail = 1e-4;
  return -std::log(body * (1 - tail) + tail / (range + 1)) * log2_e;
}

struct Levels {               // one entry a plateau, in order
  std::vector<double> mean;   // of the raw values
  std::vector<double> begin;  // mean of its first few values: what a prediction meets
  std::vector<double> x;
};

Levels levels_of(std::span<const double> raw, const CodedFrames& frames) {
  Levels levels;
  for (std::size_t i = 0; i < raw.size();) {
    std::size_t end = i;
    double sum = 0;
    for (; end < raw.size() && frames.plateau[end] == frames.plateau[i]; ++end) sum += raw[end];
    levels.mean.push_back(sum / static_cast<double>(end - i));
    const std::size_t few = std::min(end, i + 3);
    const double begin = std::accumulate(raw.begin() + static_cast<std::ptrdiff_t>(i),
                                         raw.begin() + static_cast<std::ptrdiff_t>(few), 0.0);
    levels.begin.push_back(begin / static_cast<double>(few - i));
    levels.x.push_back(frames.x[i]);
    i = end;
  }
  return levels;
}

// Variance of a single value about its level, from the steps between neighbours on one plateau, so
// that a level which creeps counts little. The largest fiftieth of the steps is left out: something
// else happened there.
double step_noise(std::span<const double> raw, const CodedFrames& frames, double slope) {
  std::vector<double> squares;
  for (std::size_t i = 1; i < raw.size(); ++i) {
    if (frames.plateau[i] != frames.plateau[i - 1]) continue;
    const double step = (raw[i] - raw[i - 1]) - slope * (frames.x[i] - frames.x[i - 1]);
    squares.push_back(step * step);
  }
  if (squares.empty()) return 0;
  const std::size_t kept = squares.size() - squares.size() / 50;
  std::nth_element(squares.begin(), squares.begin() + static_cast<std::ptrdiff_t>(kept - 1),
                   squares.end());
  const double sum =
      std::accumulate(squares.begin(), squares.begin() + static_cast<std::ptrdiff_t>(kept), 0.0);
  // Of a normal variable's square, 0.89 of the sum lies below its 98 % point.
  return sum / (0.89 * 2 * static_cast<double>(squares.size()));
}

// How single values move about their level.
struct Motion {
  double memory;  // share of the last value's deviation that is still there (AR(1))
  double wander;  // variance by which the level itself moves from frame to frame, in noise units
  bool repeats;   // the board measures less often than it sends: values come more than once
};

constexpr std::array<Motion, 9> motions{{{0, 0, false},
                                         {0, 0.003, false},
                                         {0, 0.05, false},
                                         {0, 0.7, false},
                                         {0.4, 0.001, false},
                                         {0.75, 0.001, false},
                                         {0.9, 0.001, false},
                                         {0, 0.001, true},
                                         {0, 0.05, true}}};

// Adaptive odds (Krichevsky-Trofimov) that a value is the last one once more, by how many frames
// it has been there. A board that measures every k frames gives itself away at once.
class Repetition {
 public:
  [[nodiscard]] double odds() const { return same_[age_] / (same_[age_] + other_[age_]); }
  void learn(bool same) {
    (same ? same_ : other_)[age_] += 1;
    age_ = same ? std::min<std::size_t>(age_ + 1, ages - 1) : 0;
  }
  void begin() { age_ = ages - 1; }

 private:
  static constexpr std::size_t ages = 8;
  std::array<double, ages> same_{{.5, .5, .5, .5, .5, .5, .5, .5}};
  std::array<double, ages> other_{{.5, .5, .5, .5, .5, .5, .5, .5}};
  std::size_t age_ = ages - 1;
};

struct Prediction {
  LineFit line;
  double noise = 0;  // variance, from the steps
  double range = 0;
  bool follows_x = true;  // else the level at a plateau's start is the last one, give or take
  double start = 0.02;    // variance of the level at a plateau's start about what is expected
};

double predictor_cost(std::span<const double> raw, const CodedFrames& frames,
                      const Prediction& given, const Motion& motion) {
  const LineFit& line = given.line;
  const double marginal = given.noise / (1 - motion.memory);  // steps of an AR(1) are smaller
  const double fresh = given.noise * (1 + motion.memory);
  double cost = 0;
  double level = 0;
  double doubt = 0;
  double deviation = 0;
  Repetition repetition;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    const bool begins = i == 0 || frames.plateau[i] != frames.plateau[i - 1];
    if (begins) {
      if (i == 0 || given.follows_x) level = line.intercept + line.slope * frames.x[i];
      doubt = given.start;
      deviation = 0;
    } else {
      // A sampled channel moves within its one long plateau: the level moves along with the line.
      level += line.slope * (frames.x[i] - frames.x[i - 1]);
      doubt += motion.wander * given.noise;
    }
    const double spread = begins ? marginal : fresh;
    const double lean = (1 - motion.memory) * (1 - motion.memory);
    const double mean = level + motion.memory * deviation;
    const double sd = std::sqrt(spread + lean * doubt);
    if (!motion.repeats || begins) {
      cost += rounded_normal_cost(raw[i], mean, sd, given.range);
      repetition.begin();
    } else {
      const bool same = raw[i] == raw[i - 1];
      const double odds = repetition.odds();
      repetition.learn(same);
      if (same) {
        cost -= std::log(odds) * log2_e;
        continue;  // nothing new was measured
      }
      // Known to be another value than the last: that one's share goes to the rest.
      const double last = std::exp2(-rounded_normal_cost(raw[i - 1], mean, sd, given.range));
      cost += rounded_normal_cost(raw[i], mean, sd, given.range) +
              std::log((1 - std::min(last, 0.999)) / (1 - odds)) * log2_e;
    }
    const double gain =
        doubt / (doubt + marginal * (1 + motion.memory) / (1 - motion.memory) + 1.0 / 12);
    level += gain * (raw[i] - level);
    doubt *= 1 - gain;
    deviation = raw[i] - level;
  }
  return cost;
}

// The best two motions on a stretch of the frames are tried on all of them.
double cheapest(std::span<const double> raw, const CodedFrames& frames, const Prediction& given) {
  constexpr std::size_t stretch = 600;
  std::array<std::pair<double, std::size_t>, motions.size()> screened;
  for (std::size_t i = 0; i < motions.size(); ++i) {
    screened[i] = {
        predictor_cost(raw.first(std::min(stretch, raw.size())), frames, given, motions[i]), i};
  }
  std::sort(screened.begin(), screened.end());
  if (raw.size() <= stretch) return screened[0].first;
  return std::min(predictor_cost(raw, frames, given, motions[screened[0].second]),
                  predictor_cost(raw, frames, given, motions[screened[1].second]));
}

double range_of(std::span<const double> raw) {
  const auto [least, most] = std::minmax_element(raw.begin(), raw.end());
  return *most - *least;
}

// Rounding is in the cost already (Sheppard's correction); a quiet field keeps a little noise.
double noise_of(std::span<const double> raw, const CodedFrames& frames, double slope) {
  return std::max(step_noise(raw, frames, slope) - 1.0 / 12, 0.01);
}

}  // namespace

CodedFrames coded_frames(const Stream& stream, const RowSet& set, std::int64_t delay_ns,
                         std::size_t most) {
  CodedFrames out;
  out.kind = set.kind;
  const auto t = stream.bits.times();
  if (set.kind == ChannelKind::hold) {
    for (const Row& row : set.rows) {
      const auto [from, to] = frames_of(stream, row, set.kind, delay_ns);
      for (std::size_t i = from; i < to; ++i) {
        out.frame.push_back(i);
        out.x.push_back(row.x);
        out.plateau.push_back(row.plateau);
      }
    }
  } else {
    std::size_t next = 0;
    const auto middle = [&](std::size_t i) {
      return set.rows[i].from_ns + (set.rows[i].to_ns - set.rows[i].from_ns) / 2 + delay_ns;
    };
    for (std::size_t i = 0; i < t.size(); ++i) {
      while (next < set.rows.size() && middle(next) < t[i]) ++next;
      if (next == 0 || next == set.rows.size()) continue;
      const double share = static_cast<double>(t[i] - middle(next - 1)) /
                           static_cast<double>(middle(next) - middle(next - 1));
      out.frame.push_back(i);
      out.x.push_back(set.rows[next - 1].x + share * (set.rows[next].x - set.rows[next - 1].x));
      out.plateau.push_back(0);
    }
  }
  const std::size_t stride = (out.frame.size() + most - 1) / std::max<std::size_t>(most, 1);
  if (stride > 1) {
    std::size_t kept = 0;
    for (std::size_t i = 0; i < out.frame.size(); i += stride, ++kept) {
      out.frame[kept] = out.frame[i];
      out.x[kept] = out.x[i];
      out.plateau[kept] = out.plateau[i];
    }
    out.frame.resize(kept);
    out.x.resize(kept);
    out.plateau.resize(kept);
  }
  return out;
}

double quantity_cost(std::span<const double> raw, const CodedFrames& frames) {
  if (raw.size() < 3) return std::numeric_limits<double>::infinity();
  Prediction given;
  if (frames.kind == ChannelKind::hold) {
    const Levels levels = levels_of(raw, frames);
    if (levels.mean.size() < 3) return std::numeric_limits<double>::infinity();
    given.line = fit_line(levels.x, levels.mean);
    double squares = 0;
    for (std::size_t i = 0; i < levels.x.size(); ++i) {
      const double miss = levels.begin[i] - given.line.intercept - given.line.slope * levels.x[i];
      squares += miss * miss;
    }
    given.start = std::max(squares / (static_cast<double>(levels.x.size()) - 2), 0.02);
  } else {
    given.line = fit_line(frames.x, raw);
    given.start = std::max(given.line.residual_sd * given.line.residual_sd, 0.02);
  }
  given.noise = noise_of(raw, frames, given.line.slope);
  given.range = range_of(raw);
  return cheapest(raw, frames, given);
}

double lone_quantity_cost(std::span<const double> raw, const CodedFrames& frames) {
  const Levels levels = levels_of(raw, frames);
  Prediction given;
  given.follows_x = false;
  given.range = range_of(raw);
  given.line.intercept = raw.front();
  given.noise = noise_of(raw, frames, 0);
  double squares = 0;
  for (std::size_t i = 1; i < levels.mean.size(); ++i) {
    const double jump = levels.begin[i] - levels.mean[i - 1];
    squares += jump * jump;
  }
  given.start = std::max(squares / static_cast<double>(levels.mean.size()), 0.02);
  return cheapest(raw, frames, given) + std::log2(given.range + 1);
}

double lone_bit_cost(const Stream& stream, int bit, const CodedFrames& frames) {
  std::array<Repetition, 2> repetition;  // of a 0 and of a 1
  double cost = 1;
  bool last = stream.bits.at(bit, frames.frame.front());
  for (std::size_t i = 1; i < frames.frame.size(); ++i) {
    const bool now = stream.bits.at(bit, frames.frame[i]);
    const double odds = repetition[last ? 1 : 0].odds();
    cost -= std::log(now == last ? odds : 1 - odds) * log2_e;
    repetition[last ? 1 : 0].learn(now == last);
    last = now;
  }
  return cost;
}

std::vector<double> coded_values(const Stream& stream, const CodedFrames& frames, const Span& span,
                                 Coding coding) {
  std::vector<std::uint64_t> raw(frames.frame.size(), 0);
  const int width = span.width();
  for (int i = 0; i < width; ++i) {
    const int bit = bit_index(span.position(i));
    for (std::size_t k = 0; k < raw.size(); ++k) {
      raw[k] |= std::uint64_t{stream.bits.at(bit, frames.frame[k])} << i;
    }
  }
  std::vector<double> values(raw.size());
  for (std::size_t k = 0; k < raw.size(); ++k) values[k] = number_of(raw[k], width, coding);
  return values;
}

}  // namespace foundling
