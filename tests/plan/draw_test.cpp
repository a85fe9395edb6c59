// Drawn plans: what they never do, and what they can tell apart. The walk below reads a plan's
// steps by itself; it shares nothing with the code that draws or checks them.
#include "decoder/bench/draw.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>
#include <set>

#include "decoder/bench/check_plan.h"
#include "decoder/bench/judge.h"
#include "decoder/bench/plan_text.h"
#include "decoder/bench/plan_time.h"
#include "tests/must.h"
#include "tests/plan/random_head.h"
#include "tests/plan/tractor_plan.h"

namespace foundling::bench {
namespace {

int random_plans() {
  const char* wanted = std::getenv("FOUNDLING_RANDOM_PLANS");
  return wanted != nullptr ? std::max(1, std::atoi(wanted)) : 150;
}

struct Course {
  const PlanChannel* channel;
  double now;
  double up, down;  // farthest from rest so far
};

std::map<std::string, Course> start(const Plan& plan) {
  std::map<std::string, Course> courses;
  for (const PlanChannel& c : plan.channels) {
    for (const std::string& name : members(c)) {
      courses[name] = {&c, c.is_state() ? 0 : c.rest_value(), 0, 0};
    }
  }
  return courses;
}

// The first thing that a plan does wrong; empty: nothing.
std::string wrong_in(const Plan& plan) {
  auto courses = start(plan);
  for (const Step& step : plan.steps) {
    std::string where("step ");
    where.append(std::to_string(step.number)).append(": ");
    for (const Setting& setting : step.settings) {
      for (const std::string& name : setting.channels) {
        Course& course = courses.at(name);
        const PlanChannel& c = *course.channel;
        if (c.is_state()) {
          if (std::find(c.words.begin(), c.words.end(), setting.word) == c.words.end())
            return where.append("no word of ").append(name);
          continue;
        }
        const double range = c.high - c.low;
        const double slack = 1e-9 * (range + std::abs(c.low) + std::abs(c.high));
        if (setting.value < c.low || setting.value > c.high)
          return where.append(name).append(" off limits");
        if (c.jump && std::abs(setting.value - course.now) > *c.jump + slack)
          return where.append(name).append(" jumps");
        // On a lead, rest is not its own; a source over sets is tried out once for all of them.
        if (c.lead.empty() && c.moves == Moves::alone) {
          const double off = setting.value - c.rest_value();
          const double up = std::max((c.high - c.rest_value()) / 4, 2 * course.up);
          const double down = std::max((c.rest_value() - c.low) / 4, 2 * course.down);
          if (off > up + slack || -off > down + slack)
            return where.append(name).append(" goes too far at once");
          course.up = std::max(course.up, off);
          course.down = std::max(course.down, -off);
        }
        course.now = setting.value;
      }
    }
  }
  for (const auto& [name, course] : courses) {
    const PlanChannel& c = *course.channel;
    if (!c.is_state() && c.lead.empty() && course.now != c.rest_value())
      return std::string(name).append(" is not back at rest");
  }
  return {};
}

TEST_CASE("random plans never exceed a limit, a jump or the first reach, and keep their time") {
  const int count = random_plans();
  int drawn_plans = 0;
  for (int seed = 0; seed < count; ++seed) {
    CAPTURE(seed);
    const Plan head = random_head(static_cast<std::uint64_t>(seed));
    const auto drawn = draw_plan(head, static_cast<std::uint64_t>(seed) + 77);
    if (!drawn) continue;  // too little time, or a hold shorter than the settling
    ++drawn_plans;
    REQUIRE(wrong_in(drawn->plan) == "");
    REQUIRE(describe(check_plan(drawn->plan), "p", "") == "");
    if (head.at_most_s) REQUIRE(plan_seconds(drawn->plan) <= *head.at_most_s);
    if (seed % 10 == 0) {
      const std::string text = write_plan(drawn->plan);
      const PlanText again = read_plan(text);
      REQUIRE(describe(again.diagnostics, "p", text) == "");
      REQUIRE(write_plan(again.plan) == text);
    }
  }
  MESSAGE(drawn_plans << " of " << count << " random plans fit into their time and were drawn");
  CHECK(drawn_plans > count / 3);
}

Plan tractor_head() {
  Plan plan = read_plan(tractor_plan).plan;
  plan.steps.clear();
  return plan;
}

TEST_CASE("the same channels and seed give the same steps, another seed gives others") {
  const Plan head = tractor_head();
  const std::string once = write_plan(must(draw_plan(head, 1)).plan);
  CHECK(write_plan(must(draw_plan(head, 1)).plan) == once);
  CHECK(write_plan(must(draw_plan(head, 2)).plan) != once);
}

TEST_CASE("every level comes as often as asked, and the limits are among them") {
  Plan head = tractor_head();
  head.at_most_s.reset();
  const Drawn drawn = must(draw_plan(head, 5));
  std::map<double, int> currents;
  Standing standing = at_rest(drawn.plan);
  std::size_t next = 0;
  for (std::size_t s = 0; s < drawn.plan.steps.size(); ++s) {
    (void)carry_out(drawn.plan, drawn.plan.steps[s], standing);
    if (next < drawn.drawn.size() && drawn.drawn[next] == s) {
      ++currents[standing["pack_current"]];
      ++next;
    }
  }
  CHECK(next == drawn.drawn.size());
  CHECK(currents.size() == 8);
  CHECK(currents.begin()->first == -60);
  CHECK(currents.rbegin()->first == 60);
  for (const auto& [value, times] : currents) CHECK(times >= 2);
  for (const ChannelJudgement& c : judge(drawn.plan).channels) {
    CAPTURE(c.name);
    if (c.name == "pack_current") CHECK(c.extremes);
    if (c.is_state) CHECK(c.changes >= fewest_changes);
    if (!c.is_state) CHECK(c.levels >= fewest_levels);
  }
}

TEST_CASE("cells under one source have code words of their own, channels on a lead have not") {
  const Drawn drawn = must(draw_plan(tractor_head(), 9));
  const PlanJudgement judgement = judge(drawn.plan);
  REQUIRE(judgement.inseparable.size() == 1);
  CHECK(judgement.inseparable[0] == std::vector<std::string>{"temp_2", "temp_3"});
  CHECK(judgement.worst_r < 0.9);
  // Sixteen moves of one source, where one cell after the other would take 28 times five.
  CHECK(drawn.drawn.size() == 16);
}

TEST_CASE("exchanging leaves no two of fourteen channels alike, which plain chance does not") {
  Plan head;
  for (int i = 0; i < 14; ++i) {
    PlanChannel c;
    c.name = std::string("q").append(std::to_string(i));
    c.unit.assign(1, 'V');  // g++ 12 warns wrongly of "V"
    c.low = 0;
    c.high = 10;
    head.channels.push_back(c);
  }
  double worst = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    worst = std::max(worst, judge(must(draw_plan(head, seed)).plan).worst_r);
  }
  MESSAGE("worst |r| of 14 channels at 16 steps, 20 seeds: " << worst);
  // 91 pairs of plain random orders: the 1 % point of the greatest |r| of 16 points is about 0.78
  // (Fisher's z, n = 16, Bonferroni over 91 pairs).
  CHECK(worst < 0.7);
}

TEST_CASE("less time means fewer repetitions, then fewer levels, then none at all") {
  Plan head = tractor_head();
  head.at_most_s.reset();
  const double all = plan_seconds(must(draw_plan(head, 3)).plan);
  head.at_most_s = all * 0.8;
  const Drawn less = must(draw_plan(head, 3));
  CHECK(plan_seconds(less.plan) <= all * 0.8);
  CHECK((less.repeat_cut > 0 || less.levels_cut > 0));
  head.at_most_s = 60;
  const auto none = draw_plan(head, 3);
  REQUIRE(!none);
  CHECK(none.error().message.find("not even 5 levels of everything fit into 60 s") == 0);
}

}  // namespace
}  // namespace foundling::bench
