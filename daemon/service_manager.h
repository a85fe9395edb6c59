// Tells the service manager how we are: readiness, status, watchdog (sd_notify(3): lines to the
// datagram socket that NOTIFY_SOCKET names). Without one, nothing happens.
#pragma once

#include <chrono>
#include <optional>
#include <string>

namespace foundling {

class ServiceManager {
 public:
  ServiceManager();  // reads the environment
  ServiceManager(const ServiceManager&) = delete;
  ServiceManager& operator=(const ServiceManager&) = delete;
  ~ServiceManager();

  void tell(const std::string& lines) const;  // "READY=1\nSTATUS=..."
  // How often it wants a sign of life, if at all.
  [[nodiscard]] std::optional<std::chrono::microseconds> watchdog() const { return watchdog_; }

 private:
  int socket_ = -1;
  std::string address_;  // a leading @ stands for the zero byte of an abstract name
  std::optional<std::chrono::microseconds> watchdog_;
};

}  // namespace foundling
