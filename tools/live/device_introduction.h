// How the signals introduce themselves to home-automation servers: one retained message that says
// what device there is, which sensors it has, and where their values are published. The form is
// that of "MQTT discovery", device by device: homeassistant/device/ID/config. Sensors only: there
// is nothing to switch. Pure.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "tools/live/live_values.h"

namespace foundling {

// Letters, digits, _ and -: what that form allows in a topic, at most 64.
[[nodiscard]] bool can_be_device(std::string_view id);

struct DeviceSettings {
  std::string id;
  std::string board;          // as the map calls it; empty: the id
  std::string version;        // of this program
  std::string prefix;         // of the topics that the values go to
  std::int64_t every_ns = 0;  // a value is sent at most so often
};

class DeviceIntroduction {
 public:
  DeviceIntroduction(const LiveValues& values, std::vector<bool> chosen, DeviceSettings settings);

  [[nodiscard]] std::string topic() const;
  // The message, where none was made yet or some value now counts for longer than it says.
  [[nodiscard]] std::optional<std::string> due();
  // It may be lost: the next call makes it again.
  void forget() { made_ = false; }

 private:
  [[nodiscard]] std::string text() const;

  const LiveValues& values_;
  std::vector<bool> chosen_;
  DeviceSettings settings_;
  std::vector<std::int64_t> expiry_s_;  // that the last message said
  bool made_ = false;
};

}  // namespace foundling
