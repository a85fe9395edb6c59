#include "tools/live/device_introduction.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <nlohmann/json.hpp>

#include "schemas/values/shown_text.h"
#include "schemas/values/unit.h"
#include "tools/live/live_messages.h"
#include "tools/live/topic_level.h"

namespace foundling {
namespace {

using nlohmann::json;

// The device classes of sensors that such servers know, with the unit as they write it. A pack's
// energy goes down again, so it is stored energy and no meter's reading. Quantities without a class
// (charge, resistance, turns, shares of anything) have their unit alone: a share need not be the
// battery's.
struct Class {
  std::string_view unit;
  std::string_view name;
  std::string_view written;
};
constexpr std::array<Class, 18> classes{{
    {"V", "voltage", "V"},
    {"mV", "voltage", "mV"},
    {"\u00B5V", "voltage", "\u00B5V"},
    {"A", "current", "A"},
    {"mA", "current", "mA"},
    {"W", "power", "W"},
    {"kW", "power", "kW"},
    {"Wh", "energy_storage", "Wh"},
    {"kWh", "energy_storage", "kWh"},
    {"°C", "temperature", "°C"},
    {"K", "temperature", "K"},
    {"Pa", "pressure", "Pa"},
    {"kPa", "pressure", "kPa"},
    {"bar", "pressure", "bar"},
    {"Hz", "frequency", "Hz"},
    {"l/min", "volume_flow_rate", "L/min"},
    {"s", "duration", "s"},
    {"ms", "duration", "ms"},
}};

void say_quantity(json& sensor, const SignalEntry& entry) {
  if (!entry.states.empty()) {
    std::vector<std::string> words;  // two codes may have one word
    for (const StateWord& state : entry.states) {
      if (std::ranges::find(words, state.word) == words.end()) words.push_back(state.word);
    }
    sensor["device_class"] = "enum";
    sensor["options"] = words;
    // A code without a word is none of the options.
    sensor["value_template"] = "{{ value_json.value if value_json.value is string else None }}";
    return;
  }
  sensor["state_class"] = "measurement";
  sensor["value_template"] = "{{ value_json.value }}";
  if (entry.unit.empty()) return;
  const std::string unit(known_unit(entry.unit).value_or(entry.unit));
  const auto* const known =
      std::ranges::find_if(classes, [&](const Class& c) { return c.unit == unit; });
  sensor["unit_of_measurement"] = known == classes.end() ? unit : std::string(known->written);
  if (known != classes.end()) sensor["device_class"] = known->name;
}

}  // namespace

bool can_be_device(std::string_view id) {
  constexpr std::size_t longest = 64;
  return !id.empty() && id.size() <= longest && std::ranges::all_of(id, [](unsigned char c) {
    return c < 0x80 && (std::isalnum(c) != 0 || c == '_' || c == '-');
  });
}

DeviceIntroduction::DeviceIntroduction(const LiveValues& values, std::vector<bool> chosen,
                                       DeviceSettings settings)
    : values_(values),
      chosen_(std::move(chosen)),
      settings_(std::move(settings)),
      expiry_s_(values.size()) {}

std::string DeviceIntroduction::topic() const {
  return "homeassistant/device/" + settings_.id + "/config";
}

// A server must not let go of a value before it is stale; how long that is, the frames may show to
// be more than the map says. It never gets less, so that the message is not made again and again.
std::optional<std::string> DeviceIntroduction::due() {
  constexpr std::int64_t second = 1'000'000'000;
  bool longer = false;
  for (std::size_t i = 0; i < values_.size(); ++i) {
    const std::int64_t counts_ns = values_.time_out_ns(i) + settings_.every_ns;
    if (!chosen_[i] || counts_ns <= expiry_s_[i] * second) continue;
    expiry_s_[i] = (counts_ns + counts_ns / 10) / second + 1;  // a tenth against jitter
    longer = true;
  }
  if (made_ && !longer) return {};
  made_ = true;
  return text();
}

std::string DeviceIntroduction::text() const {
  json sensors = json::object();
  for (std::size_t i = 0; i < values_.size(); ++i) {
    if (!chosen_[i]) continue;
    const std::string& name = values_.field(i).name;
    const std::string topic = signal_topic(settings_.prefix, name);
    json sensor{{"platform", "sensor"},
                {"name", name},
                {"unique_id", settings_.id + '_' + topic_level(name)},
                {"state_topic", topic},
                {"expire_after", expiry_s_[i]},
                {"json_attributes_topic", topic}};
    say_quantity(sensor, values_.entry(i));
    sensors[topic_level(name)] = std::move(sensor);
  }
  const json all{{"device",
                  {{"identifiers", {settings_.id}},
                   {"name", settings_.board.empty() ? settings_.id : settings_.board}}},
                 {"origin", {{"name", "foundling"}, {"sw_version", settings_.version}}},
                 {"availability_topic", settings_.prefix + "/status"},
                 {"availability_template", "{{ value_json.state }}"},
                 {"components", std::move(sensors)}};
  return shown(all.dump(-1, ' ', false, json::error_handler_t::replace));
}

}  // namespace foundling
