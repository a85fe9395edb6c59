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

std::string number_text(int number, int digits) {
  std::string text = std::to_string(number);
  const auto wanted = static_cast<std::size_t>(digits);
  if (text.size() < wanted) text.insert(0, wanted - text.size(), '0');
  return text;
}

std::vector<std::string> members(const PlanChannel& channel) {
  if (!channel.is_series()) return {channel.name};
  std::vector<std::string> names;
  for (const NumberRange& range : channel.numbers) {
    for (int n = range.first; n <= range.last; ++n) {
      names.push_back(channel.name + '_' + number_text(n, channel.digits));
    }
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
    const bool is_in = std::ranges::any_of(channel.numbers, [&](const NumberRange& range) {
      return n >= range.first && n <= range.last;
    });
    if (is_in && number == number_text(n, channel.digits)) return &channel;
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
