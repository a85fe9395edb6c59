// Brokers that are none: silent, endless, talkative. What they cost is bounded.
#include <arpa/inet.h>
#include <doctest/doctest.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <chrono>
#include <functional>
#include <string>
#include <thread>
#include <vector>

#include "tests/must.h"
#include "tools/live/broker_limits.h"
#include "tools/live/mqtt_client.h"

namespace foundling {
namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;
using std::chrono::steady_clock;

// Takes each connection, reads its first packet, and hands it to `then`.
class FalseBroker {
 public:
  explicit FalseBroker(std::function<void(int, const std::atomic<bool>&)> then)
      : listener_(socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    socklen_t size = sizeof address;
    REQUIRE(bind(listener_, reinterpret_cast<sockaddr*>(&address), size) == 0);
    REQUIRE(listen(listener_, 8) == 0);
    getsockname(listener_, reinterpret_cast<sockaddr*>(&address), &size);
    port_ = ntohs(address.sin_port);
    thread_ = std::thread([this, then] { serve(then); });
  }
  FalseBroker(const FalseBroker&) = delete;
  FalseBroker& operator=(const FalseBroker&) = delete;
  ~FalseBroker() {
    stopping_ = true;
    thread_.join();
    close(listener_);
  }
  [[nodiscard]] std::unique_ptr<MqttClient> client(MqttSettings settings = {}) const {
    settings.host = "127.0.0.1";
    settings.port = port_;
    return must(MqttClient::start(settings));
  }
  [[nodiscard]] int connections() const { return connections_; }

 private:
  void serve(const std::function<void(int, const std::atomic<bool>&)>& then) {
    while (!stopping_) {
      pollfd waiting{listener_, POLLIN, 0};
      if (poll(&waiting, 1, 50) <= 0) continue;
      const int one = accept(listener_, nullptr, nullptr);
      if (one < 0) continue;
      ++connections_;
      std::array<char, 512> first{};
      (void)!recv(one, first.data(), first.size(), 0);
      then(one, stopping_);
      close(one);
    }
  }

  int listener_;
  int port_ = 0;
  std::atomic<bool> stopping_{false};
  std::atomic<int> connections_{0};
  std::thread thread_;
};

const std::string accepted("\x20\x02\x00\x00", 4);  // CONNACK, MQTT 3.1.1, 3.2

void send_while_taken(int socket, const std::string& bytes, std::size_t total,
                      const std::atomic<bool>& stopping) {
  for (std::size_t sent = 0; sent < total && !stopping;) {
    const ssize_t put = send(socket, bytes.data(), bytes.size(), MSG_NOSIGNAL | MSG_DONTWAIT);
    if (put > 0) {
      sent += static_cast<std::size_t>(put);
    } else if (errno == EAGAIN) {
      std::this_thread::sleep_for(std::chrono::microseconds(50));
    } else {
      return;
    }
  }
}

std::vector<std::string> news_within(MqttClient& client, milliseconds time) {
  std::vector<std::string> all;
  for (const auto until = steady_clock::now() + time; steady_clock::now() < until;) {
    for (std::string& text : client.news()) all.push_back(std::move(text));
    std::this_thread::sleep_for(milliseconds(20));
  }
  return all;
}

bool says(const std::vector<std::string>& news, const std::string& part) {
  for (const std::string& text : news) {
    if (text.find(part) != std::string::npos) return true;
  }
  return false;
}

long most_kilobytes() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return usage.ru_maxrss;
}

TEST_CASE("a broker that takes the connection and says nothing is told of, once") {
  const FalseBroker broker([](int, const std::atomic<bool>& stopping) {
    while (!stopping) std::this_thread::sleep_for(milliseconds(20));
  });
  MqttSettings settings;
  CHECK(settings.longest_silence == seconds(10));
  settings.longest_silence = seconds(1);
  const auto client = broker.client(settings);
  const auto news = news_within(*client, milliseconds(2'500));
  REQUIRE(news.size() == 1);
  CAPTURE(news.front());
  CHECK(says(news, "takes the connection and says nothing; trying again"));
}

TEST_CASE("a packet of 256 MB is not taken in") {
  const FalseBroker broker([](int socket, const std::atomic<bool>& stopping) {
    send_while_taken(socket, accepted, accepted.size(), stopping);
    send_while_taken(socket, std::string("\x30\xff\xff\xff\x7f\x00\x01t", 8), 8, stopping);
    send_while_taken(socket, std::string(1 << 16, 'x'), std::size_t{256} << 20U, stopping);
  });
  [[maybe_unused]] const long before = most_kilobytes();
  const auto client = broker.client();
  const auto news = news_within(*client, seconds(2));
  CHECK(says(news, "sends what nobody asked for"));
#ifndef __SANITIZE_THREAD__  // keeps books of its own as large as what the library asks room for
  // The address sanitizer alone marks an eighth of it, each time.
  CHECK(most_kilobytes() - before < 128 * 1024);
#endif
  CHECK(broker.connections() < 10);  // it is gone back to with growing waits
}

TEST_CASE("a broker that lets in and drops, or lets in again and again, fills no log") {
  for (const bool talkative : {false, true}) {
    CAPTURE(talkative);
    const FalseBroker broker([talkative](int socket, const std::atomic<bool>& stopping) {
      std::string answer;
      for (int i = 0; i < (talkative ? 4096 : 1); ++i) answer += accepted;
      send_while_taken(socket, answer, answer.size(), stopping);
    });
    const auto client = broker.client();
    const auto news = news_within(*client, seconds(3));
    CHECK(says(news, "connected to"));
    CHECK(news.size() <= 12);
    CHECK(broker.connections() < 10);
  }
}

TEST_CASE("messages that are kept back are counted") {
  MessageBudget budget;
  const auto start = steady_clock::now();
  for (int i = 0; i < 10; ++i) CHECK(budget.spend(start) == 0);
  for (int i = 0; i < 7; ++i) CHECK_FALSE(budget.spend(start).has_value());
  CHECK(budget.spend(start + seconds(11)) == 7);
}

}  // namespace
}  // namespace foundling
