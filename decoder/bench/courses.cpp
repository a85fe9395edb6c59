#include "decoder/bench/courses.h"

#include <algorithm>
#include <map>

namespace foundling::bench {

std::vector<Course> courses_of(const Plan& plan) {
  std::vector<Course> courses;
  std::map<std::string, std::size_t, std::less<>> index;
  for (const PlanChannel& channel : plan.channels) {
    for (const std::string& name : members(channel)) {
      index.emplace(name, courses.size());
      courses.push_back({name, &channel, {}});
    }
  }
  std::vector<double> now;
  for (const Course& c : courses) {
    const auto& words = c.channel->words;
    const auto rest = std::ranges::find(words, c.channel->rest_state());
    now.push_back(c.channel->is_state() ? static_cast<double>(rest - words.begin())
                                        : c.channel->rest_value());
  }
  for (const Step& step : plan.steps) {
    for (const Setting& setting : step.settings) {
      for (const std::string& name : setting.channels) {
        const auto known = index.find(name);
        if (known == index.end()) continue;
        const PlanChannel& channel = *courses[known->second].channel;
        if (channel.is_state()) {
          const auto word = std::ranges::find(channel.words, setting.word);
          now[known->second] = static_cast<double>(word - channel.words.begin());
        } else if (const auto value = value_in_unit_of(channel, setting)) {
          now[known->second] = *value;
        }
      }
    }
    for (std::size_t i = 0; i < courses.size(); ++i) courses[i].values.push_back(now[i]);
  }
  return courses;
}

}  // namespace foundling::bench
