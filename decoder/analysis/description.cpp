#include "decoder/analysis/description.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

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

struct Levels {              // one entry a plateau, in order
  std::vector<double> mean;  // of the raw values
  std::vector<double> x;
};

Levels levels_of(std::span<const double> raw, const CodedFrames& frames) {
  Levels levels;
  for (std::size_t i = 0; i < raw.size();) {
    std::size_t end = i;
    double sum = 0;
    for (; end < raw.size() && frames.plateau[end] == frames.plateau[i]; ++end) sum += raw[end];
    levels.mean.push_back(sum / static_cast<double>(end - i));
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

// The cost under one assumption of how much the level wanders from frame to frame.
double predictor_cost(std::span<const double> raw, const CodedFrames& frames, const LineFit& line,
                      double noise, double wander, double range) {
  // The prediction at a plateau's start: the line's own scatter, and rounding.
  const double start = std::max(line.residual_sd * line.residual_sd, 0.02);
  double cost = 0;
  double level = 0;
  double doubt = 0;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    const double on_line = line.intercept + line.slope * frames.x[i];
    if (i == 0 || frames.plateau[i] != frames.plateau[i - 1]) {
      level = on_line;
      doubt = start;
    } else {
      // A sampled channel moves within its one long plateau: the level moves along with the line.
      level += line.slope * (frames.x[i] - frames.x[i - 1]);
      doubt += wander;
    }
    cost += rounded_normal_cost(raw[i], level, std::sqrt(noise + doubt), range);
    const double gain = doubt / (doubt + noise + 1.0 / 12);
    level += gain * (raw[i] - level);
    doubt *= 1 - gain;
  }
  return cost;
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
  const auto [least, most] = std::minmax_element(raw.begin(), raw.end());
  LineFit line;
  if (frames.kind == ChannelKind::hold) {
    const Levels levels = levels_of(raw, frames);
    if (levels.mean.size() < 3) return std::numeric_limits<double>::infinity();
    line = fit_line(levels.x, levels.mean);
  } else {
    line = fit_line(frames.x, raw);
  }
  // Rounding is in the cost already (Sheppard's correction); a quiet field keeps a little noise.
  const double noise = std::max(step_noise(raw, frames, line.slope) - 1.0 / 12, 0.01);
  double best = std::numeric_limits<double>::infinity();
  for (const double wander : {0.0, 0.003, 0.05, 0.7}) {
    best = std::min(best, predictor_cost(raw, frames, line, noise, wander * noise, *most - *least));
  }
  return best;
}

double lone_bit_cost(const Stream& stream, int bit, const CodedFrames& frames) {
  double count[2][2] = {{0.5, 0.5}, {0.5, 0.5}};
  double cost = 1;
  bool last = stream.bits.at(bit, frames.frame.front());
  for (std::size_t i = 1; i < frames.frame.size(); ++i) {
    const bool now = stream.bits.at(bit, frames.frame[i]);
    double* row = count[last ? 1 : 0];
    cost -= std::log(row[now ? 1 : 0] / (row[0] + row[1])) * log2_e;
    row[now ? 1 : 0] += 1;
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

LowEnd choose_low_end(const Stream& stream, const CodedFrames& frames, BitPosition msb,
                      ByteOrder order, bool is_signed, int most_bits) {
  LowEnd best{{msb, msb}, -std::numeric_limits<double>::infinity()};
  std::vector<double> values(frames.frame.size(), 0);
  double lone = 0;
  // Walk down from the top. Position i below it has no direct name, so spans are made from the LSB.
  const int step_down = order == ByteOrder::little ? -1 : 1;
  BitPosition at = msb;
  for (int width = 1; width <= most_bits; ++width) {
    const int bit = bit_index(at);
    if (bit >= stream.bits.bits() || stream.owned[static_cast<std::size_t>(bit)]) break;
    const bool top = width == 1;
    for (std::size_t k = 0; k < values.size(); ++k) {
      const double b = stream.bits.at(bit, frames.frame[k]) ? 1 : 0;
      values[k] = top && is_signed ? -b : 2 * values[k] + b;
    }
    lone += lone_bit_cost(stream, bit, frames);
    if (stream.moving[static_cast<std::size_t>(bit)]) {
      // Alignment is a prior: fields end at bytes far more often than at nibbles, and at nibbles
      // more often than elsewhere (common practice, no source).
      const double prior = at.bit == 0 ? 0 : at.bit == 4 ? 3 : 6;
      const double saving = lone - quantity_cost(values, frames) - prior;
      if (saving > best.saving) best = {{msb, at}, saving};
    }
    if (at.bit > 0) {
      --at.bit;
    } else {
      const int byte = at.byte + step_down;
      if (byte < 0 || byte * 8 >= stream.bits.bits() || order == ByteOrder::single) break;
      at = {static_cast<std::uint8_t>(byte), 7};
    }
  }
  return best;
}

}  // namespace foundling
