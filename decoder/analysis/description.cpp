#include "decoder/analysis/description.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <utility>

#include "decoder/analysis/line_fit.h"
#include "decoder/analysis/moments.h"
#include "decoder/analysis/predictor.h"
#include "decoder/analysis/repetition.h"

namespace foundling {
namespace {

constexpr double log2_e = 1.4426950408889634;

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
// `only_changes`: of values that differ from the last, for boards that measure now and then.
double step_noise(std::span<const double> raw, const CodedFrames& frames, double slope,
                  bool only_changes) {
  std::vector<double> squares;
  for (std::size_t i = 1; i < raw.size(); ++i) {
    if (frames.plateau[i] != frames.plateau[i - 1]) continue;
    if (only_changes && raw[i] == raw[i - 1]) continue;
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

double range_of(std::span<const double> raw) {
  const auto [least, most] = std::minmax_element(raw.begin(), raw.end());
  return *most - *least;
}

// Rounding is in the cost already (Sheppard's correction); a quiet field keeps a little noise.
void set_noise(Prediction& given, std::span<const double> raw, const CodedFrames& frames) {
  const auto before_rounding = [](double variance) { return std::max(variance - 1.0 / 12, 0.01); };
  given.noise = before_rounding(step_noise(raw, frames, given.slope, false));
  given.noise_of_changes = before_rounding(step_noise(raw, frames, given.slope, true));
  given.range = range_of(raw);
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
    const LineFit line = fit_line(levels.x, levels.mean);
    given.intercept = line.intercept;
    given.slope = line.slope;
    double squares = 0;
    for (std::size_t i = 0; i < levels.x.size(); ++i) {
      const double miss = levels.begin[i] - line.intercept - line.slope * levels.x[i];
      squares += miss * miss;
    }
    given.start = std::max(squares / (static_cast<double>(levels.x.size()) - 2), 0.02);
  } else {
    const LineFit line = fit_line(frames.x, raw);
    given.intercept = line.intercept;
    given.slope = line.slope;
    given.start = std::max(line.residual_sd * line.residual_sd, 0.02);
  }
  set_noise(given, raw, frames);
  return prediction_cost(raw, frames.x, frames.plateau, given);
}

double lone_quantity_cost(std::span<const double> raw, const CodedFrames& frames) {
  const Levels levels = levels_of(raw, frames);
  Prediction given;
  given.follows_x = false;
  given.intercept = raw.front();
  set_noise(given, raw, frames);
  double squares = 0;
  for (std::size_t i = 1; i < levels.mean.size(); ++i) {
    const double jump = levels.begin[i] - levels.mean[i - 1];
    squares += jump * jump;
  }
  given.start = std::max(squares / static_cast<double>(levels.mean.size()), 0.02);
  return prediction_cost(raw, frames.x, frames.plateau, given) + std::log2(given.range + 1);
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
  // A bit that tells nothing at all is not made to pay for what was learnt of it.
  return std::min(cost, static_cast<double>(frames.frame.size()));
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
