#include "tests/plan/random_head.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

namespace foundling::bench {
namespace {

class Maker {
 public:
  explicit Maker(std::uint64_t seed) : engine_(seed) {}

  Plan run() {
    Plan plan;
    if (chance(0.7)) plan.at_most_s = between(60, 7200);
    if (chance(0.5)) plan.hold_s = between(4, 20);
    const int channels = whole(1, 8);
    for (int i = 0; i < channels; ++i) plan.channels.push_back(channel(plan, i));
    return plan;
  }

 private:
  double between(double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(engine_);
  }
  int whole(int low, int high) { return std::uniform_int_distribution<int>(low, high)(engine_); }
  bool chance(double p) { return between(0, 1) < p; }

  PlanChannel channel(const Plan& plan, int number) {
    static const std::array<const char*, 5> units{"V", "A", "°C", "kΩ", "rpm"};
    PlanChannel c;
    c.name = std::string("q").append(std::to_string(number));
    if (chance(0.3)) c.settle_s = between(0, plan.hold_s.value_or(default_hold_s));
    if (plan.hold_s && !c.settle_s) c.settle_s = std::min(default_settle_s, *plan.hold_s);
    if (chance(0.3)) c.set_time_s = between(0, 10);
    if (chance(0.2)) {
      c.unit = "state";
      c.words = {"a", "b", "c", "d"};
      c.words.resize(static_cast<std::size_t>(whole(2, 4)));
      return c;
    }
    c.unit = units[static_cast<std::size_t>(whole(0, 4))];
    const double size = std::pow(10.0, between(-3, 4));
    c.low = between(-size, size);
    c.high = c.low + size * between(0.01, 2);
    if (chance(0.5)) c.rest = between(c.low, c.high);
    if (chance(0.3)) c.levels = whole(2, 20);
    if (chance(0.3)) c.repeat = whole(1, 4);
    if (chance(0.3)) c.jump = (c.high - c.low) * between(0.02, 1.5);
    if (chance(0.3)) c.ramp = (c.high - c.low) * between(0.01, 2);
    if (chance(0.3)) c.grain = (c.high - c.low) * between(1e-4, 0.3);
    if (chance(0.3)) {
      const int first = whole(0, 3);
      c.numbers = {{first, first + whole(1, 30)}};
      if (whole(0, 2) == 0) c.numbers.push_back({36, 36 + whole(0, 3)});
      c.digits = 2;
      if (chance(0.6)) c.moves = Moves::in_sets;
    }
    for (const PlanChannel& other : plan.channels) {
      const bool fits = !other.is_state() && other.moves == Moves::alone && other.lead.empty() &&
                        c.moves == Moves::alone && !other.jump && !c.jump;
      if (!fits || !chance(0.2)) continue;
      lead_ = other.name;
      c.unit = other.unit;
      c.low = other.low + (other.high - other.low) * between(0, 0.4);
      c.high = other.high + (other.high - other.low) * between(-0.4, 0.4);
      c.rest.reset();
      c.grain.reset();
      c.lead = lead_;
      break;
    }
    return c;
  }

  std::mt19937_64 engine_;
  std::string lead_;
};

}  // namespace

Plan random_head(std::uint64_t seed) {
  Plan plan = Maker(seed).run();
  for (std::size_t i = 0; i < plan.channels.size(); ++i) {  // the other end of each lead
    for (const PlanChannel& c : plan.channels) {
      if (c.lead == plan.channels[i].name) plan.channels[i].lead = c.lead;
    }
  }
  return plan;
}

}  // namespace foundling::bench
