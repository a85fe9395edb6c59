// The virtual practitioner's plan: limits, balance, and that every channel can be told from every
// other.
#include "tools/board/bench_plan.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "tools/board/bench_channels.h"
#include "tools/board/session.h"

namespace foundling::board {
namespace {

double low_limit(Input input) {
  for (const AnalogChannel& channel : analog_channels()) {
    if (channel.input == input) return channel.low;
  }
  const bool cell = input >= Input::first_cell && input < Input::first_temperature;
  return cell ? cell_channel().low : 0;
}

double high_limit(Input input) {
  for (const AnalogChannel& channel : analog_channels()) {
    if (channel.input == input) return channel.high;
  }
  for (const SwitchChannel& channel : switch_channels()) {
    if (channel.input == input) return static_cast<double>(channel.words.size() - 1);
  }
  return cell_channel().high;
}

// Each input's value at every tenth of a second.
std::vector<std::vector<double>> traces(const BenchPlan& plan) {
  const auto samples = static_cast<std::size_t>(plan.duration_ns / 100'000'000);
  std::vector<std::vector<double>> all(index(Input::ambient), std::vector<double>(samples));
  for (const Setting& setting : plan.settings) {
    auto& trace = all[index(setting.input)];
    const auto from = static_cast<std::ptrdiff_t>(setting.applied_ns / 100'000'000);
    std::fill(trace.begin() + from, trace.end(), setting.value);
  }
  return all;
}

void centre_and_scale(std::vector<double>& x) {
  double sum = 0;
  for (const double v : x) sum += v;
  double squares = 0;
  for (double& v : x) {
    v -= sum / static_cast<double>(x.size());
    squares += v * v;
  }
  for (double& v : x) v /= std::sqrt(squares);
}

double largest_correlation(const BenchPlan& plan) {
  auto all = traces(plan);
  for (auto& trace : all) centre_and_scale(trace);
  double largest = 0;
  for (std::size_t i = 0; i < all.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      double r = 0;
      for (std::size_t k = 0; k < all[i].size(); ++k) r += all[i][k] * all[j][k];
      largest = std::max(largest, std::abs(r));
    }
  }
  return largest;
}

std::map<Input, std::set<double>> levels_of(const BenchPlan& plan) {
  std::map<Input, std::set<double>> levels;
  for (const Setting& setting : plan.settings) levels[setting.input].insert(setting.value);
  return levels;
}

}  // namespace

TEST_CASE("no plan of a thousand seeds leaves a channel's limits") {
  for (std::uint64_t seed = 1; seed <= 1000; ++seed) {
    PlanOptions options;
    options.seed = seed;
    options.steps = 30;
    options.single_cell_steps = 5;
    bool inside = true;
    for (const Setting& setting : make_plan(options).settings) {
      inside = inside && setting.value >= low_limit(setting.input) &&
               setting.value <= high_limit(setting.input);
    }
    if (!inside) FAIL_CHECK("seed " << seed);
  }
}

TEST_CASE("every channel is set at the start, and analog ones take at least eight levels") {
  for (const int number : {1, 2}) {
    for (const bool small : {false, true}) {
      CAPTURE(number);
      CAPTURE(small);
      const BenchPlan plan = make_plan(session_options(number, small).plan);
      std::set<Input> at_start;
      for (const Setting& setting : plan.settings) {
        if (setting.applied_ns == 0) at_start.insert(setting.input);
      }
      CHECK(at_start.size() == bench_channels().size());
      for (const auto& [input, levels] : levels_of(plan)) {
        const std::size_t which = index(input);
        CAPTURE(which);
        if (input < Input::interlock) CHECK(levels.size() >= 8);
      }
    }
  }
}

TEST_CASE("no two channels move so much together that they could be taken for each other") {
  for (const int number : {1, 2}) {
    CAPTURE(number);
    CHECK(largest_correlation(make_plan(session_options(number, false).plan)) < 0.5);
    CHECK(largest_correlation(make_plan(session_options(number, true).plan)) < 0.7);
  }
}

TEST_CASE("every level of a channel is held equally often, but for the last round") {
  const BenchPlan plan = make_plan(session_options(1, false).plan);
  const AnalogChannel& current = analog_channels()[0];
  std::map<double, int> held;
  for (const Setting& setting : plan.settings) {
    if (setting.input != current.input) continue;
    const auto nearest =
        std::min_element(current.levels.begin(), current.levels.end(), [&](double a, double b) {
          return std::abs(a - setting.value) < std::abs(b - setting.value);
        });
    ++held[*nearest];
  }
  const auto [fewest, most] = std::minmax_element(
      held.begin(), held.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  CHECK(held.size() == current.levels.size());
  CHECK(most->second - fewest->second <= 1);
}

TEST_CASE("the readings agree with the truth within their stated uncertainty") {
  // Of normally distributed errors 99.7 % lie within three standard deviations; errors of gain and
  // offset are one draw a session, so all readings of a channel may be off together: four are
  // allowed.
  const BenchPlan plan = make_plan(session_options(1, false).plan);
  for (const Setting& setting : plan.settings) {
    if (setting.input >= Input::interlock) continue;
    CAPTURE(index(setting.input));
    CHECK(std::abs(setting.reading.value - setting.value) <= 4 * setting.reading.uncertainty);
  }
}

TEST_CASE("the two sessions have different orders, and the same seed the same plan") {
  const auto values = [](int number) {
    std::vector<double> all;
    for (const Setting& s : make_plan(session_options(number, false).plan).settings) {
      all.push_back(s.reading.value);
    }
    return all;
  };
  const auto first = values(1);
  CHECK(first.size() == values(1).size());
  CHECK(values(2) != first);
}

}  // namespace foundling::board
