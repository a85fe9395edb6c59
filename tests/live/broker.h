// Debian's mosquitto on a free port of loopback, and a subscriber to it.
#pragma once

#include <chrono>
#include <filesystem>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "tests/live/child.h"

namespace foundling {

class Broker {
 public:
  // `settings`: further lines of its configuration; without any, everybody may come in.
  explicit Broker(const std::filesystem::path& folder, const std::string& settings = {});
  // At the same port.
  void start();
  void stop();
  [[nodiscard]] int port() const { return port_; }
  [[nodiscard]] std::string address() const { return "127.0.0.1:" + std::to_string(port_); }

 private:
  std::filesystem::path folder_;
  int port_;
  std::unique_ptr<Child> process_;
};

struct Message {
  std::string topic;
  std::string payload;
  bool retained = false;
  std::string content_type;  // of MQTT 5
  std::uint32_t expiry_s = 0;
  std::chrono::steady_clock::time_point at;
};

struct Access {
  std::string user;
  std::string password;
  std::string ca_file;
};

// Everything below foundling/ and homeassistant/, from a connection of its own that keeps itself
// up.
class Subscriber {
 public:
  explicit Subscriber(const Broker& broker, const Access& access = {});
  Subscriber(const Subscriber&) = delete;
  Subscriber& operator=(const Subscriber&) = delete;
  ~Subscriber();

  [[nodiscard]] std::vector<Message> all() const;
  [[nodiscard]] std::vector<Message> of(const std::string& topic) const;
  [[nodiscard]] std::optional<Message> last(const std::string& topic) const;
  void forget();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace foundling
