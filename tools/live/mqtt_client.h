// A connection to an MQTT broker that keeps itself up: connects, says online, is succeeded by its
// will when it dies, and connects again with growing waits. Publishing never waits for the broker:
// while there is no connection, or too much is under way, it is refused and the caller tries again
// with what is newest then. libmosquitto does the protocol, in a thread of ours.
//
// The broker is not trusted: it is dropped when it sends more than a broker has to say to whoever
// subscribes to nothing, and told when it says nothing for 10 s; waits grow until a connection has
// held, and differ between programs; what is said of it is limited.
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "schemas/values/result.h"

namespace foundling {

struct MqttSettings {
  std::string host;
  int port = 1883;
  bool version_5 = false;  // else 3.1.1
  std::string prefix = "foundling";
  std::string client_id;  // empty: the broker chooses
  std::string user;
  std::optional<std::string> password;
  bool tls = false;
  std::string ca_file;  // empty: the system's authorities
  std::string certificate_file;
  std::string key_file;
  // From the start of an attempt to the broker's answer.
  std::chrono::milliseconds longest_silence{10'000};
};

class MqttClient {
 public:
  // An error for settings that cannot be used, such as an unreadable certificate.
  static Result<std::unique_ptr<MqttClient>> start(const MqttSettings& settings);
  MqttClient(const MqttClient&) = delete;
  MqttClient& operator=(const MqttClient&) = delete;
  ~MqttClient();

  enum class Sent {
    yes,
    not_now,  // try again, with what is newest then
    never,    // this topic or message cannot be sent at all
  };
  // Retained. `expiry_s` > 0: with MQTT 5 the broker forgets it after so long.
  Sent publish(const std::string& topic, const std::string& payload, std::uint32_t expiry_s = 0);

  // Goes up with every connection: what was published before may be lost.
  [[nodiscard]] std::uint64_t connections() const;
  // What happened since the last call, in words.
  [[nodiscard]] std::vector<std::string> news();
  // The broker refused us before it ever took us: no use in trying on.
  [[nodiscard]] std::optional<std::string> refused() const;

  // Says offline, hands on what is under way, and leaves; at most two seconds.
  void stop();

 private:
  struct State;
  explicit MqttClient(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace foundling
