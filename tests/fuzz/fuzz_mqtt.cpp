// What a broker sends: the input follows its answer to the connection (first byte even) or stands
// in its place. Whatever it is, the client ends the connection or goes on, keeps no more than a
// little of it, and stops when it is told to. MQTT 3.1.1 only: with 5, libmosquitto itself aborts
// (tests/fuzz/README.md).
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cstdlib>
#include <string>

#include "tests/fuzz/cpu_budget.h"
#include "tools/live/mqtt_client.h"

namespace {

using namespace foundling;

struct Listener {
  int socket = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  int port = 0;

  Listener() {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    socklen_t size = sizeof address;
    if (bind(socket, reinterpret_cast<sockaddr*>(&address), size) != 0) abort();
    if (listen(socket, 8) != 0) abort();
    getsockname(socket, reinterpret_cast<sockaddr*>(&address), &size);
    port = ntohs(address.sin_port);
  }
  [[nodiscard]] int next() const {
    pollfd waiting{socket, POLLIN, 0};
    return poll(&waiting, 1, 2000) > 0 ? accept(socket, nullptr, nullptr) : -1;
  }
};

// Until it says nothing for 20 ms or goes.
void drain(int connection) {
  std::array<char, 4096> chunk{};
  pollfd waiting{connection, POLLIN, 0};
  while (poll(&waiting, 1, 20) > 0 && recv(connection, chunk.data(), chunk.size(), 0) > 0) {
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const Listener listener;
  if (size == 0) return 0;
  within_cpu_budget([&] {
    MqttSettings settings;
    settings.host = "127.0.0.1";
    settings.port = listener.port;
    auto client = MqttClient::start(settings);
    if (!client) abort();
    const int connection = listener.next();
    if (connection < 0) return;  // no port is left, for a minute
    drain(connection);
    std::string sent;
    if ((data[0] & 1U) == 0) sent = std::string("\x20\x02\0\0", 4);
    sent.append(reinterpret_cast<const char*>(data) + 1, size - 1);
    (void)!send(connection, sent.data(), sent.size(), MSG_NOSIGNAL | MSG_DONTWAIT);
    drain(connection);
    (void)(*client)->publish("foundling/signal/a", "1", 5);
    for (const std::string& news : (*client)->news()) {
      if (news.size() > 1000) abort();
    }
    shutdown(connection, SHUT_RDWR);
    (*client)->stop();
    close(connection);
  });
  return 0;
}
