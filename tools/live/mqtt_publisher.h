// Sends live values to a broker: each signal's newest, as soon as it came but not more often than
// wanted; the change to stale at once; everything anew after every connection. What cannot be sent
// now is not queued: the newest goes out when it can.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "tools/live/device_introduction.h"
#include "tools/live/live_values.h"
#include "tools/live/mqtt_client.h"

namespace foundling {

class MqttPublisher {
 public:
  MqttPublisher(MqttClient& client, const LiveValues& values, const std::vector<bool>& chosen,
                const std::string& prefix, std::int64_t every_ns);

  // From now on the signals also introduce themselves as the sensors of a device.
  void introduce(DeviceIntroduction introduction) {
    introduction_.emplace(std::move(introduction));
  }

  // `now_ns` and utc_offset_ns + t_ns = Unix time (0: unknown) are of the values' time line;
  // `steady_ns` is any clock that only goes forwards.
  void send(std::int64_t now_ns, std::int64_t utc_offset_ns, std::int64_t steady_ns);
  // What can never be sent, each said once.
  [[nodiscard]] std::vector<std::string> news() { return std::exchange(news_, {}); }
  // Nothing more comes: what was good is stale from now on.
  void send_all_stale(std::int64_t utc_offset_ns);

 private:
  struct Signal {
    std::size_t index = 0;
    std::string topic;
    std::uint64_t sent_count = 0;
    Standing sent = Standing::never;
    bool refused = false;  // no try will send it
    bool known = false;    // to the broker, since it was last connected to
    std::int64_t next_ns = 0;
  };
  bool send_introduction(std::int64_t steady_ns);
  void send_sanity(std::int64_t now_ns, std::int64_t utc_offset_ns, std::int64_t steady_ns);

  MqttClient& client_;
  const LiveValues& values_;
  std::int64_t every_ns_;
  std::vector<Signal> signals_;
  std::optional<DeviceIntroduction> introduction_;
  std::int64_t introduction_next_ns_ = 0;
  std::string sanity_topic_;
  std::string sanity_sent_;
  std::int64_t sanity_next_ns_ = 0;
  std::uint64_t connections_ = 0;
  std::vector<std::string> news_;
};

}  // namespace foundling
