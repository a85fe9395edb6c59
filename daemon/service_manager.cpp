#include "daemon/service_manager.h"

#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cstddef>
#include <cstdlib>
#include <cstring>

namespace foundling {

ServiceManager::ServiceManager() {
  const char* const address = std::getenv("NOTIFY_SOCKET");
  if (address == nullptr || (address[0] != '/' && address[0] != '@')) return;
  if (std::strlen(address) >= sizeof(sockaddr_un::sun_path)) return;
  address_ = address;
  socket_ = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
  const char* const interval = std::getenv("WATCHDOG_USEC");
  const char* const for_whom = std::getenv("WATCHDOG_PID");
  if (interval == nullptr) return;
  if (for_whom != nullptr && std::atoll(for_whom) != getpid()) return;
  const long long microseconds = std::atoll(interval);
  if (microseconds > 0) watchdog_ = std::chrono::microseconds(microseconds);
}

ServiceManager::~ServiceManager() {
  if (socket_ >= 0) close(socket_);
}

void ServiceManager::tell(const std::string& lines) const {
  if (socket_ < 0) return;
  sockaddr_un to{};
  to.sun_family = AF_UNIX;
  std::memcpy(to.sun_path, address_.data(), address_.size());
  if (to.sun_path[0] == '@') to.sun_path[0] = 0;
  const auto size = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + address_.size());
  // A manager that does not listen is no reason to stop recording.
  (void)sendto(socket_, lines.data(), lines.size(), MSG_NOSIGNAL,
               reinterpret_cast<const sockaddr*>(&to), size);
}

}  // namespace foundling
