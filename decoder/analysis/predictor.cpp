#include "decoder/analysis/predictor.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <vector>

#include "decoder/analysis/repetition.h"

namespace foundling {
namespace {

constexpr double log2_e = 1.4426950408889634;

// The normal distribution function, from a table: within 2e-6.
class NormalTable {
 public:
  NormalTable() {
    for (std::size_t i = 0; i < table_.size(); ++i) {
      table_[i] = 0.5 * std::erfc(-(-reach + static_cast<double>(i) / steps) / std::sqrt(2.0));
    }
  }
  [[nodiscard]] double operator()(double z) const {
    if (!(z > -reach)) return 0;
    if (z >= reach) return 1;
    const double at = (z + reach) * steps;
    const auto i = static_cast<std::size_t>(at);
    return table_[i] + (at - static_cast<double>(i)) * (table_[i + 1] - table_[i]);
  }

 private:
  static constexpr double reach = 6;
  static constexpr double steps = 128;
  std::array<double, 2 * 6 * 128 + 2> table_{};
};

// Probability of a whole number under a rounded normal, with a thin flat tail so that a single
// outlier costs some 15 bits and not everything.
double rounded_normal(double v, double mean, double variance, double range) {
  static const NormalTable normal;
  const double scale = 1 / std::sqrt(variance);
  const double body = normal((v + 0.5 - mean) * scale) - normal((v - 0.5 - mean) * scale);
  constexpr double tail = 1e-4;
  return body * (1 - tail) + tail / (range + 1);
}

// How single values move about their level.
struct Motion {
  double memory;  // share of the last value's deviation that is still there (AR(1))
  double wander;  // variance by which the level itself moves from frame to frame, in noise units
  double noise;   // their noise against the mean noise: plateaus differ in it
};

constexpr std::array<Motion, 9> motions{{{0, 0, 1},
                                         {0, 0.003, 1},
                                         {0, 0.003, 0.2},
                                         {0, 0.003, 3},
                                         {0, 0.05, 1},
                                         {0, 0.7, 1},
                                         {0.4, 0.001, 1},
                                         {0.75, 0.001, 1},
                                         {0.9, 0.001, 1}}};

class Filter {
 public:
  Filter(const Motion& motion, const Prediction& given)
      : memory_(motion.memory),
        noise_(std::max(given.noise * motion.noise, 0.004)),
        wander_(motion.wander * noise_) {}

  void begin(double level, double doubt) {
    level_ = level;
    doubt_ = doubt;
    deviation_ = 0;
    fresh_start_ = true;
  }
  void move(double by) {
    level_ += by;
    doubt_ += wander_;
  }
  [[nodiscard]] double mean() const { return level_ + memory_ * deviation_; }
  [[nodiscard]] double variance() const {
    // Steps of an AR(1) are smaller than its spread.
    const double spread = fresh_start_ ? noise_ / (1 - memory_) : noise_ * (1 + memory_);
    return spread + (1 - memory_) * (1 - memory_) * doubt_;
  }
  void learn(double v) {
    const double gain =
        doubt_ / (doubt_ + noise_ * (1 + memory_) / ((1 - memory_) * (1 - memory_)) + 1.0 / 12);
    level_ += gain * (v - level_);
    doubt_ *= 1 - gain;
    deviation_ = v - level_;
    fresh_start_ = false;
  }
  [[nodiscard]] double level() const { return level_; }
  [[nodiscard]] double doubt() const { return doubt_; }

 private:
  double memory_;
  double noise_;
  double wander_;
  double level_ = 0;
  double doubt_ = 0;
  double deviation_ = 0;
  bool fresh_start_ = true;
};

// Expects the last value again; if not that, the one before it, or else a new one near the level.
class Repeater {
 public:
  explicit Repeater(const Prediction& given) : given_(given) {}

  void begin() {
    repetition_.begin();
    before_.reset();
  }
  [[nodiscard]] double probability(double v, double last, const Filter& level) const {
    const double same = repetition_.odds();
    if (v == last) return same;
    const double variance = given_.noise_of_changes + level.doubt();
    const double at_last = rounded_normal(last, level.level(), variance, given_.range);
    double fresh =
        rounded_normal(v, level.level(), variance, given_.range) / std::max(1 - at_last, 1e-3);
    if (before_) {
      const double back = back_ / (back_ + away_);
      fresh = back * (v == *before_ ? 1 : 0) + (1 - back) * fresh;
    }
    return (1 - same) * std::min(fresh, 1.0);
  }
  void learn(double v, double last) {
    repetition_.learn(v == last);
    if (v == last) return;
    if (before_) (v == *before_ ? back_ : away_) += 1;
    before_ = last;
  }

 private:
  const Prediction& given_;
  Repetition repetition_;
  std::optional<double> before_;
  double back_ = 0.5;
  double away_ = 0.5;
};

// Expects the values of this plateau again, each as often as it came, and now and then a new one
// near the level (D. Blackwell, J. B. MacQueen, Ann. Statist. 1 (1973) 353: an urn that learns).
class Urn {
 public:
  void begin() {
    used_ = 0;
    total_ = 0;
  }
  [[nodiscard]] double probability(double v, double fresh) const {
    double count = 0;
    for (std::size_t i = 0; i < used_; ++i) {
      if (values_[i] == v) count = counts_[i];
    }
    return (count + fresh) / (total_ + 1);
  }
  void learn(double v) {
    std::size_t i = 0;
    while (i < used_ && values_[i] != v) ++i;
    if (i == values_.size()) return;  // many values: no urn for this one
    if (i == used_) {
      values_[i] = v;
      counts_[i] = 0;
      ++used_;
    }
    counts_[i] += 1;
    total_ += 1;
  }

 private:
  std::array<double, 12> values_{};
  std::array<double, 12> counts_{};
  std::size_t used_ = 0;
  double total_ = 0;
};

// The first value of a plateau: some are met closely, some are not, and which is more usual shows.
class Starts {
 public:
  double probability(double v, double level, const Prediction& given) {
    std::array<double, spreads.size()> p{};
    double sum = 0;
    double all = 0;
    for (std::size_t i = 0; i < p.size(); ++i) {
      p[i] = weights_[i] *
             rounded_normal(v, level, given.start * spreads[i] + given.noise, given.range);
      sum += p[i];
      all += weights_[i];
    }
    for (std::size_t i = 0; i < p.size(); ++i) weights_[i] += p[i] / sum;
    return sum / all;
  }

 private:
  static constexpr std::array<double, 5> spreads{{0.002, 0.03, 0.3, 1, 8}};  // of the variance
  std::array<double, spreads.size()> weights_{{0.5, 0.5, 0.5, 0.5, 0.5}};
};

// A value on its way to a new level: of a low-pass, each step is some part of the one before, the
// first of what was missing at the plateau's start. The part is taken for evenly likely from none
// to all: mean 1/2, variance 1/12.
class Approach {
 public:
  explicit Approach(const Prediction& given) : noise_(2 * given.noise), range_(given.range) {}

  void begin(double missing) { step_ = missing; }
  [[nodiscard]] double probability(double v, double last) const {
    return rounded_normal(v, last + step_ / 2, step_ * step_ / 12 + noise_, range_);
  }
  void learn(double v, double last) { step_ = v - last; }

 private:
  double noise_;  // of two values
  double range_;
  double step_ = 0;
};

class Mixture {
 public:
  explicit Mixture(const Prediction& given) : given_(given), repeater_(given), approach_(given) {
    filters_.reserve(motions.size());
    for (const Motion& motion : motions) filters_.emplace_back(motion, given);
    weights_.fill(1.0 / static_cast<double>(weights_.size()));
  }

  // Probability of the first value of a plateau; `expected` where the level follows the channel.
  double begin(double v, std::optional<double> expected) {
    const double level = expected ? *expected : filters_.front().level();
    const double p = starts_.probability(v, level, given_);
    for (Filter& filter : filters_) filter.begin(level, given_.start);
    repeater_.begin();
    urn_.begin();
    approach_.begin(level - v);
    learn(v);
    return p;
  }

  double next(double v, double last, double move) {
    std::array<double, experts> p;
    double sum = 0;
    for (std::size_t i = 0; i < filters_.size(); ++i) {
      filters_[i].move(move);
      p[i] = rounded_normal(v, filters_[i].mean(), filters_[i].variance(), given_.range);
    }
    p[motions.size()] = repeater_.probability(v, last, filters_[1]);
    p[motions.size() + 1] = urn_.probability(v, p[1]);
    p[motions.size() + 2] = approach_.probability(v, last);
    for (std::size_t i = 0; i < p.size(); ++i) sum += weights_[i] * p[i];
    constexpr double share = 0.005;  // of the weight that goes round
    for (std::size_t i = 0; i < p.size(); ++i) {
      weights_[i] = (1 - share) * weights_[i] * p[i] / sum + share / static_cast<double>(p.size());
    }
    repeater_.learn(v, last);
    approach_.learn(v, last);
    learn(v);
    return sum;
  }

 private:
  void learn(double v) {
    for (Filter& filter : filters_) filter.learn(v);
    urn_.learn(v);
  }

  static constexpr std::size_t experts = motions.size() + 3;

  const Prediction& given_;
  std::vector<Filter> filters_;
  Repeater repeater_;
  Urn urn_;
  Approach approach_;
  Starts starts_;
  std::array<double, experts> weights_{};
};

}  // namespace

double prediction_cost(std::span<const double> raw, std::span<const double> x,
                       std::span<const int> plateau, const Prediction& given) {
  Mixture mixture(given);
  double bits = 0;
  double product = 1;  // of probabilities whose logarithm is still to be taken
  for (std::size_t i = 0; i < raw.size(); ++i) {
    const double expected = given.intercept + given.slope * x[i];
    if (i == 0 || plateau[i] != plateau[i - 1]) {
      const bool known = given.follows_x || i == 0;
      product *= mixture.begin(raw[i], known ? std::optional(expected) : std::nullopt);
    } else {
      // A sampled channel moves within its one long plateau: the level moves along with the line.
      product *= mixture.next(raw[i], raw[i - 1], given.slope * (x[i] - x[i - 1]));
    }
    if (product > 1e-200) continue;
    bits -= std::log(product) * log2_e;
    product = 1;
  }
  return bits - std::log(product) * log2_e;
}

}  // namespace foundling
