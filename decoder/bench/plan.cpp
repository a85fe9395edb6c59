#include "decoder/bench/plan.h"

#include <algorithm>
#include <charconv>

#include "schemas/values/unit.h"

namespace foundling::bench {

double PlanChannel::rest_value() const { return rest.value_or(low <= 0 && high >= 0 ? 0 : low); }

std::string PlanChannel::rest_state() const {
  if (!rest_word.empty()) return rest_word;
  return words.empty() ? std::string() : words.front();
}

std::vector<std::string> members(const PlanChannel& channel) {
  if (!channel.is_series()) return {channel.name};
  std::vector<std::string> names;
  for (int n = channel.first; n <= channel.last; ++n) {
    std::string number = std::to_string(n);
    const auto digits = static_cast<std::size_t>(channel.digits);
    if (number.size() < digits) number.insert(0, digits - number.size(), '0');
    names.push_back(channel.name + '_' + number);
  }
  return names;
}

const PlanChannel* find_channel(const Plan& plan, std::string_view name) {
  for (const PlanChannel& channel : plan.channels) {
    if (!channel.is_series()) {
      if (channel.name == name) return &channel;
      continue;
    }
    if (!name.starts_with(channel.name + '_')) continue;
    const std::string_view number = name.substr(channel.name.size() + 1);
    int n = 0;
    const auto [stop, failure] = std::from_chars(number.data(), number.data() + number.size(), n);
    if (failure != std::errc{} || stop != number.data() + number.size()) continue;
    const std::size_t digits = std::max(std::to_string(n).size(),  // as members() writes it
                                        static_cast<std::size_t>(channel.digits));
    if (n >= channel.first && n <= channel.last && number.size() == digits) return &channel;
  }
  return nullptr;
}

std::optional<double> value_in_unit_of(const PlanChannel& channel, const Setting& setting) {
  if (setting.unit.empty()) return setting.value;
  const auto conversion = unit_conversion(setting.unit, channel.unit);
  if (!conversion) return {};
  return conversion->value(setting.value);
}

}  // namespace foundling::bench
