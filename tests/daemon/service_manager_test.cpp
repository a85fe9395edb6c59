#include "daemon/service_manager.h"

#include <doctest/doctest.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <cstring>
#include <thread>

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
    const timeval longest{10, 0};
    setsockopt(socket, SOL_SOCKET, SO_RCVTIMEO, &longest, sizeof longest);
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
    const ssize_t size = recv(socket, text.data(), text.size(), 0);  // at most ten seconds
    return size < 0 ? "" : std::string(text.data(), static_cast<std::size_t>(size));
  }
};

}  // namespace

TEST_CASE("the service manager hears what it is told, and its wish for signs of life is read") {
  const Manager manager;
  setenv("WATCHDOG_USEC", "30000000", 1);
  ServiceManager service;
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

TEST_CASE("what was told last is said before the end") {
  const Manager manager;
  { ServiceManager().tell("STOPPING=1"); }
  CHECK(manager.heard() == "STOPPING=1");
}

TEST_CASE("a service manager that does not read holds nobody up") {
  const Manager manager;
  const auto start = std::chrono::steady_clock::now();
  {
    ServiceManager service;
    // The kernel keeps ten unread datagrams, or some hundreds (net.unix.max_dgram_qlen).
    for (int i = 0; i < 2000; ++i) service.tell("WATCHDOG=1");
    CHECK(std::chrono::steady_clock::now() - start < std::chrono::milliseconds(900));
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
    for (int i = 0; i < 2000; ++i) service.tell("WATCHDOG=1");
  }
  CHECK(std::chrono::steady_clock::now() - start < std::chrono::seconds(5));
  CHECK(manager.heard() == "WATCHDOG=1");
}

TEST_CASE("without a service manager nothing happens") {
  unsetenv("NOTIFY_SOCKET");
  ServiceManager().tell("READY=1");
}

}  // namespace foundling
