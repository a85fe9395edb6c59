// Tells the service manager how we are: readiness, status, watchdog (sd_notify(3)). Without one,
// nothing happens. libsystemd waits where a manager does not read what it is told, after some ten
// messages already; so a thread of its own speaks, and whoever tells something goes on at once.
#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <string>

namespace foundling {

class ServiceManager {
 public:
  ServiceManager();  // reads the environment
  ServiceManager(const ServiceManager&) = delete;
  ServiceManager& operator=(const ServiceManager&) = delete;
  // What was told last is still said; a manager that does not read is waited for a second.
  ~ServiceManager();

  void tell(const std::string& lines);  // "READY=1\nSTATUS=..."
  // How often it wants a sign of life, if at all.
  [[nodiscard]] std::optional<std::chrono::microseconds> watchdog() const { return watchdog_; }

 private:
  struct Speaker;
  std::shared_ptr<Speaker> speaker_;  // shared with its thread, which may stay behind waiting
  std::optional<std::chrono::microseconds> watchdog_;
};

}  // namespace foundling
