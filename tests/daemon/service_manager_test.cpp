#include "daemon/service_manager.h"

#include <doctest/doctest.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <array>
#include <cstring>

#include "tests/scratch_folder.h"

namespace foundling {
namespace {

struct Manager {  // the other side of the socket
  ScratchFolder folder;
  std::string path = (folder / "notify").string();
  int socket = ::socket(AF_UNIX, SOCK_DGRAM, 0);
  Manager() {
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::memcpy(address.sun_path, path.c_str(), path.size());
    REQUIRE(bind(socket, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
    setenv("NOTIFY_SOCKET", path.c_str(), 1);
  }
  Manager(const Manager&) = delete;
  Manager& operator=(const Manager&) = delete;
  ~Manager() {
    close(socket);
    unsetenv("NOTIFY_SOCKET");
    unsetenv("WATCHDOG_USEC");
    unsetenv("WATCHDOG_PID");
  }
  [[nodiscard]] std::string heard() const {
    std::array<char, 200> text{};
    const ssize_t size = recv(socket, text.data(), text.size(), MSG_DONTWAIT);
    return size < 0 ? "" : std::string(text.data(), static_cast<std::size_t>(size));
  }
};

}  // namespace

TEST_CASE("the service manager hears what it is told, and its wish for signs of life is read") {
  const Manager manager;
  setenv("WATCHDOG_USEC", "30000000", 1);
  const ServiceManager service;
  service.tell("READY=1\nSTATUS=recording");
  CHECK(manager.heard() == "READY=1\nSTATUS=recording");
  CHECK(service.watchdog() == std::chrono::seconds(30));
}

TEST_CASE("a watchdog that is another process's is none of ours") {
  const Manager manager;
  setenv("WATCHDOG_USEC", "30000000", 1);
  setenv("WATCHDOG_PID", "1", 1);
  CHECK_FALSE(ServiceManager().watchdog());
}

TEST_CASE("without a service manager nothing happens") {
  unsetenv("NOTIFY_SOCKET");
  ServiceManager().tell("READY=1");
}

}  // namespace foundling
