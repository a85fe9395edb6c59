// A drawn plan recognised, placed in time by its readings, and drawn again.
#include "decoder/bench/redraw.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "decoder/bench/plan_text.h"
#include "decoder/bench/plan_time.h"
#include "tests/must.h"
#include "tests/plan/tractor_plan.h"

namespace foundling::bench {
namespace {

Plan read_back(const Plan& plan) { return read_plan(write_plan(plan)).plan; }

Drawn tractor_drawn() {
  Plan head = read_plan(tractor_plan).plan;
  head.steps.clear();
  return must(draw_plan(head, 4711));
}

// Every setting written down a tenth of a second after it was made, five seconds apart.
std::vector<ChannelSeries> readings_of(const Plan& plan) {
  std::vector<ChannelSeries> all;
  std::int64_t t_ns = 0;
  for (const Step& step : plan.steps) {
    for (const Setting& setting : step.settings) {
      t_ns += 5'000'000'000;
      for (const std::string& name : setting.channels) {
        auto series =
            std::ranges::find_if(all, [&](const auto& s) { return s.channel.name == name; });
        if (series == all.end()) {
          all.push_back({{name, find_channel(plan, name)->unit, ChannelKind::hold}, {}});
          series = all.end() - 1;
        }
        Reading reading;
        reading.t_ns = t_ns + 100'000'000;
        reading.value = setting.value * 1.001;
        reading.state = setting.word;
        series->readings.push_back(reading);
      }
    }
    t_ns += 10'000'000'000;
  }
  return all;
}

TEST_CASE("a plan read back from its text is known as the draw of its seed; an edited one is not") {
  const Drawn drawn = tractor_drawn();
  Plan read = read_back(drawn.plan);
  const auto again = drawn_again(read);
  REQUIRE(again.has_value());
  CHECK(again->drawn == drawn.drawn);
  read.steps[3].settings[0].value += 0.5;
  CHECK_FALSE(drawn_again(read).has_value());
  read = read_back(drawn.plan);
  read.seed = 4712;
  CHECK_FALSE(drawn_again(read).has_value());
  read.seed.reset();
  CHECK_FALSE(drawn_again(read).has_value());
}

TEST_CASE("readings place the drawn steps in time, from the last setting to the next step") {
  const Drawn drawn = tractor_drawn();
  const auto readings = readings_of(drawn.plan);
  const auto stretches = stretches_of(drawn, readings, 2'000'000'000'000);
  REQUIRE(stretches.has_value());
  REQUIRE(stretches->size() == drawn.drawn.size());
  for (std::size_t i = 0; i < stretches->size(); ++i) {
    const Stretch& s = (*stretches)[i];
    CHECK(s.to_ns - s.from_ns >= 10'000'000'000);
    if (i > 0) CHECK(s.from_ns >= (*stretches)[i - 1].to_ns);
  }
}

TEST_CASE("a session that did not follow the plan is not taken for one that did") {
  const Drawn drawn = tractor_drawn();
  auto readings = readings_of(drawn.plan);
  readings[0].readings.pop_back();
  CHECK_FALSE(stretches_of(drawn, readings, 2'000'000'000'000).has_value());
  readings = readings_of(drawn.plan);
  readings[0].readings[2].value += 40;
  CHECK_FALSE(stretches_of(drawn, readings, 2'000'000'000'000).has_value());
}

TEST_CASE("redrawn levels stay within the limits, begin with the real ones, and differ") {
  const Drawn drawn = tractor_drawn();
  std::vector<Stretch> held(drawn.drawn.size());
  const Redrawn redrawn = redraw(drawn, held, 1, 20);
  const auto& currents = redrawn.levels.at("pack_current");
  REQUIRE(currents.size() == 21);
  Standing standing = at_rest(drawn.plan);
  std::vector<double> real;
  for (std::size_t s = 0; s < drawn.plan.steps.size(); ++s) {
    (void)carry_out(drawn.plan, drawn.plan.steps[s], standing);
    if (std::ranges::find(drawn.drawn, s) != drawn.drawn.end()) {
      real.push_back(standing["pack_current"]);
    }
  }
  CHECK(currents[0] == real);
  for (std::size_t k = 1; k < currents.size(); ++k) {
    CHECK(currents[k] != real);
    for (const double value : currents[k]) CHECK((value >= -60 && value <= 60));
  }
}

}  // namespace
}  // namespace foundling::bench
