// A request for the metrics, over a real socket: whatever comes, the answer is none or begins as
// HTTP does, the page goes only to who asks under our name, and the next client is served.
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cstdlib>
#include <string>

#include "tests/fuzz/cpu_budget.h"
#include "tools/live/http_server.h"

namespace {

using namespace foundling;
using std::chrono::milliseconds;

constexpr const char* page = "the page of the values\n";

int connected_to(int port) {
  const int made = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  // Closed connections keep their ports for a minute: with none left, the run waits. The fuzzer's
  // own alarm may break into it.
  while (connect(made, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
    if (errno == EISCONN) break;
    if (errno == EINTR || errno == EALREADY) continue;
    if (errno != EADDRNOTAVAIL) abort();
    sleep(1);
  }
  return made;
}

std::string answer_of(HttpServer& server, const std::string& request) {
  const int made = connected_to(server.port());
  (void)!send(made, request.data(), request.size(), MSG_NOSIGNAL);
  shutdown(made, SHUT_WR);
  std::string answer;
  std::array<char, 4096> chunk{};
  for (int i = 0; i < 2000; ++i) {
    server.wait(milliseconds(i < 20 ? 0 : 1));
    const ssize_t got = recv(made, chunk.data(), chunk.size(), MSG_DONTWAIT);
    if (got > 0) {
      answer.append(chunk.data(), static_cast<std::size_t>(got));
    } else if (got == 0 || errno != EAGAIN) {
      close(made);
      return answer;
    }
  }
  abort();  // neither answered nor let go
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static HttpServer server = [] {
    auto made = HttpServer::listen("127.0.0.1", 0, {"/metrics", "text/plain", [] { return page; }});
    if (!made) abort();
    return std::move(made).value();
  }();
  within_cpu_budget([&] {
    const std::string request(reinterpret_cast<const char*>(data), size);
    const std::string answer = answer_of(server, request);
    if (!answer.empty() && answer.rfind("HTTP/1.1 ", 0) != 0) abort();
    const bool gave_page = answer.find(page) != std::string::npos;
    if (gave_page && request.rfind("GET ", 0) != 0) abort();
    const std::string good = "GET /metrics HTTP/1.1\r\nHost: localhost\r\n\r\n";
    if (answer_of(server, good).find(page) == std::string::npos) abort();
  });
  return 0;
}
