#include "decoder/report/plan_report.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <functional>
#include <vector>

#include "decoder/bench/draw.h"
#include "decoder/bench/plan_text.h"

namespace foundling {
namespace {

using bench::ChannelJudgement;

std::string two_places(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.2f", value);
  return text;
}

// The channels for which something holds, as one list; empty: none.
std::string those(const bench::PlanJudgement& judgement,
                  const std::function<bool(const ChannelJudgement&)>& holds) {
  std::vector<std::string> names;
  for (const ChannelJudgement& c : judgement.channels) {
    if (holds(c)) names.push_back(c.name);
  }
  return bench::names_text(names);
}

void add_list(std::string& out, const std::string& names, const std::string& what) {
  if (!names.empty()) out += names + ": " + what + '\n';
}

std::string separated(const bench::PlanJudgement& judgement) {
  std::string out;
  if (!judgement.worst_a.empty()) {
    const char* all = judgement.inseparable.empty() ? "all channels" : "all but those named below";
    out += std::string("distinguishable: ") + all + "; the two that go most alike are " +
           judgement.worst_a + " and " + judgement.worst_b + " (correlation " +
           two_places(judgement.worst_r) + ", where 1 is always alike)\n";
  }
  for (const auto& set : judgement.inseparable) {
    out += "not distinguishable: " + bench::names_text(set) +
           " go alike throughout; only another lead, or moving one of them alone, would "
           "distinguish them\n";
  }
  return out;
}

}  // namespace

std::string plan_report(const bench::Plan& plan, const bench::PlanJudgement& judgement,
                        std::size_t width) {
  const double minutes = std::max(1.0, std::ceil(judgement.seconds / 60));
  std::string out = std::to_string(plan.steps.size()) + " steps, about " +
                    bench::duration_text(minutes * 60) + " with the hand's time; " +
                    std::to_string(judgement.channels.size()) + " channels\n";
  out += separated(judgement);
  const auto number = [](const ChannelJudgement& c) { return !c.is_state && c.levels > 1; };
  add_list(out, those(judgement, [](const ChannelJudgement& c) { return c.levels < 2; }),
           "never moved, so nothing will be known of them");
  add_list(out,
           those(judgement,
                 [&](const ChannelJudgement& c) {
                   return number(c) && c.levels < bench::fewest_levels;
                 }),
           "fewer than " + std::to_string(bench::fewest_levels) +
               " levels, too few to judge a straight line by");
  add_list(out,
           those(judgement, [&](const ChannelJudgement& c) { return number(c) && !c.extremes; }),
           "do not reach both limits, so the top bits that only the ends move stay untested");
  add_list(out,
           those(judgement,
                 [](const ChannelJudgement& c) {
                   return c.is_state && c.levels > 1 && c.changes < bench::fewest_changes;
                 }),
           "change fewer than " + std::to_string(bench::fewest_changes) +
               " times, which chance could match");
  return paragraphs(out, width);
}

}  // namespace foundling
