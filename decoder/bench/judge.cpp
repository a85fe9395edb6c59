#include "decoder/bench/judge.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "decoder/bench/courses.h"
#include "decoder/bench/plan_time.h"

namespace foundling::bench {
namespace {

double correlation(const std::vector<double>& a, const std::vector<double>& b) {
  const auto n = static_cast<double>(a.size());
  double sa = 0, sb = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    sa += a[i];
    sb += b[i];
  }
  double aa = 0, bb = 0, ab = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    const double x = a[i] - sa / n;
    const double y = b[i] - sb / n;
    aa += x * x;
    bb += y * y;
    ab += x * y;
  }
  return aa > 0 && bb > 0 ? ab / std::sqrt(aa * bb) : 0;
}

ChannelJudgement judge_channel(const Course& course) {
  ChannelJudgement out;
  out.name = course.name;
  out.is_state = course.channel->is_state();
  out.levels =
      static_cast<int>(std::set<double>(course.values.begin(), course.values.end()).size());
  for (std::size_t i = 1; i < course.values.size(); ++i) {
    out.changes += course.values[i] == course.values[i - 1] ? 0 : 1;
  }
  if (course.values.empty() || out.is_state) return out;
  const auto [least, most] = std::ranges::minmax(course.values);
  const double range = course.channel->high - course.channel->low;
  const double slack = std::max(course.channel->grain.value_or(0), 0.01 * range);
  out.extremes = least <= course.channel->low + slack && most >= course.channel->high - slack;
  return out;
}

}  // namespace

PlanJudgement judge(const Plan& plan) {
  PlanJudgement out;
  out.seconds = plan_seconds(plan);
  const std::vector<Course> courses = courses_of(plan);
  std::vector<std::size_t> set_of(courses.size(), courses.size());
  std::vector<std::vector<std::string>> sets;
  for (std::size_t i = 0; i < courses.size(); ++i) {
    out.channels.push_back(judge_channel(courses[i]));
    for (std::size_t k = 0; k < i; ++k) {
      if (courses[i].channel->is_state() != courses[k].channel->is_state()) continue;
      const double r = std::abs(correlation(courses[i].values, courses[k].values));
      if (r <= told_apart_r) {
        if (r <= out.worst_r) continue;
        out.worst_r = r;
        out.worst_a = courses[k].name;
        out.worst_b = courses[i].name;
      } else if (set_of[k] == courses.size()) {
        set_of[k] = set_of[i] = sets.size();
        sets.push_back({courses[k].name, courses[i].name});
      } else if (set_of[i] != set_of[k]) {
        set_of[i] = set_of[k];
        sets[set_of[k]].push_back(courses[i].name);
      }
    }
  }
  out.inseparable = std::move(sets);
  return out;
}

}  // namespace foundling::bench
