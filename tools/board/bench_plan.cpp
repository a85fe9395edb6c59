#include "tools/board/bench_plan.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "tools/board/bench_channels.h"
#include "tools/board/noise.h"

namespace foundling::board {
namespace {

// Indices 0..n-1 in rounds: each round has every index once, in random order, and no index follows
// itself. So every level is held equally often and every entry is a change.
class BalancedOrder {
 public:
  BalancedOrder(std::size_t n, Noise& noise) : round_(n), next_(n), noise_(&noise) {
    std::iota(round_.begin(), round_.end(), std::size_t{0});
  }
  std::size_t next() {
    if (next_ == round_.size()) {
      const std::size_t last = round_.back();
      noise_->shuffle(std::span(round_));
      if (used_ && round_.front() == last) std::swap(round_.front(), round_.back());
      next_ = 0;
      used_ = true;
    }
    return round_[next_++];
  }

 private:
  std::vector<std::size_t> round_;
  std::size_t next_;
  bool used_ = false;
  Noise* noise_;
};

// Counts down to a channel's next change: half to one and a half times the mean dwell.
class Dwell {
 public:
  explicit Dwell(double mean) : mean_(mean) {}
  bool due(Noise& noise) {
    if (--left_ > 0) return false;
    left_ = std::max(1, static_cast<int>(std::lround(mean_ * noise.uniform(0.5, 1.5))));
    return true;
  }

 private:
  double mean_;
  int left_ = 0;
};

// One instrument in one session: its own errors, and readings rounded to its last digit.
class Meter {
 public:
  Meter(const Instrument& instrument, Noise& noise)
      : instrument_(instrument),
        gain_(1 + instrument.gain * noise.gaussian()),
        offset_(instrument.offset * noise.gaussian()) {}
  Reading read(double value, Noise& noise) const {
    const double shown = value * gain_ + offset_ + instrument_.noise * noise.gaussian();
    Reading reading;
    reading.value = rounded(shown, instrument_.last_digit);
    // Two significant digits, as a person would write them.
    const double uncertainty = standard_uncertainty(instrument_, value);
    reading.uncertainty =
        rounded(uncertainty, std::pow(10.0, std::floor(std::log10(uncertainty)) - 1));
    return reading;
  }

 private:
  // Through the number of digits per unit, so that 3.3 stays 3.3 and not 3.3000000000000003.
  static double rounded(double value, double digit) {
    const double per_unit = std::round(1 / digit);
    return per_unit >= 1 ? std::round(value * per_unit) / per_unit
                         : std::round(value / digit) * digit;
  }
  Instrument instrument_;
  double gain_;
  double offset_;
};

class Practitioner {
 public:
  explicit Practitioner(const PlanOptions& options);
  BenchPlan work();

 private:
  struct AnalogHand {
    const AnalogChannel* channel;
    BalancedOrder order;
    Dwell dwell;
    Meter meter;
  };
  struct SwitchHand {
    const SwitchChannel* channel;
    BalancedOrder order;
    Dwell dwell;
  };
  void step(std::int64_t start_ns, bool single);
  void move_cells(std::int64_t t_ns, bool single);
  double level(const AnalogChannel& channel, std::size_t which);
  void set(std::int64_t t_ns, Input input, double value, Reading reading);
  std::int64_t moment(std::int64_t start_ns);

  PlanOptions options_;
  Noise noise_;
  std::vector<AnalogHand> analog_;
  std::vector<SwitchHand> switches_;
  BalancedOrder cell_levels_, single_cell_, single_level_;
  std::vector<Meter> cell_meters_;
  std::array<double, cell_count> cells_{};
  BenchPlan plan_;
};

Practitioner::Practitioner(const PlanOptions& options)
    : options_(options),
      noise_(options.seed),
      cell_levels_(cell_channel().levels.size(), noise_),
      single_cell_(cell_count, noise_),
      single_level_(cell_channel().levels.size(), noise_) {
  for (const AnalogChannel& channel : analog_channels()) {
    analog_.push_back({&channel, BalancedOrder(channel.levels.size(), noise_),
                       Dwell(options.dwell * channel.mean_dwell),
                       Meter(channel.instrument, noise_)});
  }
  for (const SwitchChannel& channel : switch_channels()) {
    switches_.push_back({&channel, BalancedOrder(channel.words.size(), noise_),
                         Dwell(options.dwell * channel.mean_dwell)});
  }
  for (std::size_t i = 0; i < cell_count; ++i) {
    cell_meters_.emplace_back(cell_channel().instrument, noise_);
  }
}

BenchPlan Practitioner::work() {
  // Which steps move a single cell: spread over the session at random.
  std::vector<char> single(static_cast<std::size_t>(options_.steps), 0);
  std::fill_n(single.begin(), std::min(options_.steps, options_.single_cell_steps), 1);
  noise_.shuffle(std::span(single));
  std::int64_t t_ns = 0;
  for (const char one : single) {
    step(t_ns, one != 0);
    const double long_s = options_.step_s * noise_.uniform(0.85, 1.15);
    // The first step waits for the board's power-up and self-test.
    t_ns += static_cast<std::int64_t>(long_s * 1000) * 1'000'000 + (t_ns == 0 ? 2'000'000'000 : 0);
  }
  plan_.duration_ns = t_ns;
  std::stable_sort(
      plan_.settings.begin(), plan_.settings.end(),
      [](const Setting& a, const Setting& b) { return a.reading.t_ns < b.reading.t_ns; });
  return std::move(plan_);
}

void Practitioner::step(std::int64_t start_ns, bool single) {
  for (AnalogHand& hand : analog_) {
    if (!hand.dwell.due(noise_)) continue;
    const double value = level(*hand.channel, hand.order.next());
    set(moment(start_ns), hand.channel->input, value, hand.meter.read(value, noise_));
  }
  move_cells(moment(start_ns), single);
  for (SwitchHand& hand : switches_) {
    if (!hand.dwell.due(noise_)) continue;
    const std::size_t position = hand.order.next();
    Reading reading;
    reading.state = std::string(hand.channel->words[position]);
    set(moment(start_ns), hand.channel->input, static_cast<double>(position), reading);
  }
}

void Practitioner::move_cells(std::int64_t t_ns, bool single) {
  std::array<double, cell_count> wanted{};
  wanted.fill(cell_rest);
  if (single) {
    wanted[single_cell_.next()] = level(cell_channel(), single_level_.next());
  } else {
    // A quarter of the cells on each setting, drawn afresh: any two cells are apart far more often
    // than together, while sum, lowest and highest cell move too.
    std::array<double, cell_settings> settings{};
    for (double& volts : settings) volts = level(cell_channel(), cell_levels_.next());
    std::array<std::size_t, cell_count> drawn{};
    std::iota(drawn.begin(), drawn.end(), std::size_t{0});
    noise_.shuffle(std::span<std::size_t>(drawn));
    for (std::size_t i = 0; i < cell_count; ++i) wanted[drawn[i]] = settings[i % cell_settings];
  }
  for (std::size_t i = 0; i < cell_count; ++i) {
    if (wanted[i] == cells_[i]) continue;
    cells_[i] = wanted[i];
    set(t_ns, static_cast<Input>(index(Input::first_cell) + i), wanted[i],
        cell_meters_[i].read(wanted[i], noise_));
  }
}

double Practitioner::level(const AnalogChannel& channel, std::size_t which) {
  const double moved = channel.levels[which] + noise_.uniform(-channel.spread, channel.spread);
  return std::clamp(moved, channel.low, channel.high);
}

// Settings are made one after another within the first quarter second of a step; at the start of
// the session all are there.
std::int64_t Practitioner::moment(std::int64_t start_ns) {
  if (start_ns == 0) return 0;
  return start_ns + static_cast<std::int64_t>(noise_.uniform(0, 250)) * 1'000'000;
}

// The instrument's time is when it was told; the value is at the terminal some milliseconds later.
void Practitioner::set(std::int64_t t_ns, Input input, double value, Reading reading) {
  reading.t_ns = t_ns;
  const auto skew = static_cast<std::int64_t>(noise_.uniform(0, 30) * 1e6);
  plan_.settings.push_back({t_ns == 0 ? 0 : t_ns + skew, input, value, std::move(reading)});
}

}  // namespace

BenchPlan make_plan(const PlanOptions& options) { return Practitioner(options).work(); }

}  // namespace foundling::board
