// The metrics server against clients that ask well, badly, slowly, and not at all.
#include "tools/live/http_server.h"

#include <doctest/doctest.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <thread>

#include "tests/must.h"
#include "tools/live/http_host.h"

namespace foundling {
namespace {

using std::chrono::milliseconds;

class Served {
 public:
  Served()
      : server_(must(HttpServer::listen("127.0.0.1", 0,
                                        {"/metrics", "text/x-test", [] { return "the page\n"; }}))),
        thread_([this] {
          while (!stopping_) server_.wait(milliseconds(10));
        }) {}
  ~Served() {
    stopping_ = true;
    thread_.join();
  }
  [[nodiscard]] int connection() const {
    const int made = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(server_.port()));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    REQUIRE(connect(made, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
    return made;
  }
  [[nodiscard]] std::string answer_to(const std::string& request) const {
    const int made = connection();
    REQUIRE(send(made, request.data(), request.size(), MSG_NOSIGNAL) ==
            static_cast<ssize_t>(request.size()));
    std::string answer;
    std::array<char, 512> chunk{};
    for (ssize_t got = 0; (got = recv(made, chunk.data(), chunk.size(), 0)) > 0;) {
      answer.append(chunk.data(), static_cast<std::size_t>(got));
    }
    close(made);
    return answer;
  }

 private:
  HttpServer server_;
  std::atomic<bool> stopping_{false};
  std::thread thread_;
};

bool begins(const std::string& text, const std::string& beginning) {
  return text.compare(0, beginning.size(), beginning) == 0;
}

}  // namespace

TEST_CASE(
    "the page is there, with its length and type; everything else has the status of RFC 9110") {
  const Served served;
  const std::string page = served.answer_to("GET /metrics HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n");
  CHECK(begins(page, "HTTP/1.1 200 OK\r\n"));
  CHECK(page.find("Content-Type: text/x-test\r\n") != std::string::npos);
  CHECK(page.find("Content-Length: 9\r\n") != std::string::npos);
  CHECK(page.substr(page.find("\r\n\r\n")) == "\r\n\r\nthe page\n");
  CHECK(begins(served.answer_to("GET /metrics?x=1 HTTP/1.0\r\n\r\n"), "HTTP/1.1 200"));
  const std::string head = served.answer_to("HEAD /metrics HTTP/1.1\r\nHost: localhost\r\n\r\n");
  CHECK(begins(head, "HTTP/1.1 200"));
  CHECK(head.substr(head.size() - 4) == "\r\n\r\n");
  CHECK(begins(served.answer_to("GET / HTTP/1.1\r\nHost: localhost\r\n\r\n"), "HTTP/1.1 404"));
  CHECK(served.answer_to("POST /metrics HTTP/1.1\r\nHost: localhost\r\n\r\n").find("Allow: GET") !=
        std::string::npos);
  CHECK(begins(served.answer_to("POST /metrics HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\n"
                                "\r\nhello"),
               "HTTP/1.1 405"));
  for (const std::string bad :
       {"\r\n\r\n", "GET\r\n\r\n", "GET  HTTP/1.1\r\n\r\n", "x y z\r\n\r\n"}) {
    CAPTURE(bad);
    CHECK(begins(served.answer_to(bad), "HTTP/1.1 400"));
  }
  CHECK(begins(served.answer_to("GET /metrics HTTP/1.1\r\nX: " + std::string(9000, 'x')),
               "HTTP/1.1 431"));
}

TEST_CASE("clients that hang about hinder no other, and are dropped where there are too many") {
  const Served served;
  std::vector<int> idle;
  for (int i = 0; i < 10; ++i) idle.push_back(served.connection());
  send(idle.front(), "GET /met", 8, MSG_NOSIGNAL);
  CHECK(
      begins(served.answer_to("GET /metrics HTTP/1.1\r\nHost: localhost\r\n\r\n"), "HTTP/1.1 200"));
  for (int i = 0; i < 30; ++i) idle.push_back(served.connection());
  for (const int one : idle) close(one);
  std::this_thread::sleep_for(milliseconds(100));
  CHECK(
      begins(served.answer_to("GET /metrics HTTP/1.1\r\nHost: localhost\r\n\r\n"), "HTTP/1.1 200"));
}

TEST_CASE("slow clients, as many as there is room for, starve nobody") {
  const Served served;
  std::vector<int> slow;
  int answered = 0;
  for (int i = 0; i < 112; ++i) {
    if (i < 64) {
      slow.push_back(served.connection());
      send(slow.back(), "GET /metrics HTTP/1.1\r\n", 23, MSG_NOSIGNAL);
    }
    answered +=
        begins(served.answer_to("GET /metrics HTTP/1.1\r\nHost: localhost\r\n\r\n"), "HTTP/1.1 200")
            ? 1
            : 0;
  }
  CHECK(answered == 112);
  // The slowest made room for those who came.
  const timeval two_seconds{2, 0};
  setsockopt(slow.front(), SOL_SOCKET, SO_RCVTIMEO, &two_seconds, sizeof two_seconds);
  char byte = 0;
  CHECK(recv(slow.front(), &byte, 1, 0) == 0);
  for (const int one : slow) close(one);
}

TEST_CASE(
    "who asks for half a page and waits, or says it byte by byte, is let go after five seconds") {
  const Served served;
  const std::array<int, 2> slow = {served.connection(), served.connection()};
  send(slow[0], "GET /metrics HTTP/1.1\r\n", 23, MSG_NOSIGNAL);
  std::array<bool, 2> gone{};
  const auto begun = std::chrono::steady_clock::now();
  const auto passed = [&] { return std::chrono::steady_clock::now() - begun; };
  while (!(gone[0] && gone[1]) && passed() < std::chrono::seconds(20)) {
    send(slow[1], "x", 1, MSG_NOSIGNAL | MSG_DONTWAIT);
    std::this_thread::sleep_for(milliseconds(100));
    for (std::size_t i = 0; i < 2; ++i) {
      char byte = 0;
      const ssize_t got = recv(slow[i], &byte, 1, MSG_DONTWAIT);
      gone[i] = gone[i] || got == 0 || (got < 0 && errno == ECONNRESET);
    }
    if (gone[0] || gone[1]) CHECK(passed() > milliseconds(4500));
  }
  CHECK(gone[0]);
  CHECK(gone[1]);
  for (const int one : slow) close(one);
}

TEST_CASE(
    "under another name than ours a page is not given, nor without any where there must be one") {
  const Served served;
  const auto with = [&](const std::string& lines) {
    return served.answer_to("GET /metrics HTTP/1.1\r\n" + lines + "\r\n");
  };
  CHECK(begins(with("Host: attacker.example\r\n"), "HTTP/1.1 421"));
  CHECK(begins(with("Host: 127.0.0.1.attacker.example\r\n"), "HTTP/1.1 421"));
  CHECK(begins(with("Host: 192.0.2.1\r\n"), "HTTP/1.1 421"));
  CHECK(begins(with("Host: localhost:1\r\n"), "HTTP/1.1 421"));
  CHECK(begins(with(""), "HTTP/1.1 400"));  // RFC 9112, 3.2
  CHECK(begins(with("Host: localhost\r\nHost: localhost\r\n"), "HTTP/1.1 400"));
}

TEST_CASE("a Host names the place with or without its port, in any case") {
  const ServedPlace here{"127.0.0.1", "Shed-Pi", false, 9188, {"Pack.lan"}};
  for (const std::string good : {"127.0.0.1", "127.0.0.1:9188", "LOCALHOST:9188", "shed-pi",
                                 "shed-pi.local:9188", "pack.LAN"}) {
    CAPTURE(good);
    CHECK(is_named(here, good));
  }
  for (const std::string bad : {"", "example.org", "127.0.0.1:80", "shed-pi.example.org", "[::1]",
                                "10.0.0.1", "[", "[127.0.0.1", ":9188"}) {
    CAPTURE(bad);
    CHECK_FALSE(is_named(here, bad));
  }
  const ServedPlace all{"::", "pi", true, 9188, {}};
  CHECK(is_named(all, "10.0.0.1:9188"));
  CHECK(is_named(all, "[2001:db8::1]:9188"));
  CHECK_FALSE(is_named(all, "example.org"));
}

TEST_CASE("a place that is taken, or no place at all, is an error that names it") {
  const auto first = must(HttpServer::listen("127.0.0.1", 0, {"/", "t", [] { return ""; }}));
  const auto second = HttpServer::listen("127.0.0.1", first.port(), {"/", "t", [] { return ""; }});
  REQUIRE_FALSE(second.ok());
  CHECK(second.error().message.find("127.0.0.1 port " + std::to_string(first.port())) !=
        std::string::npos);
  CHECK_FALSE(HttpServer::listen("localhost", 0, {"/", "t", [] { return ""; }}).ok());
  CHECK(HttpServer::listen("::1", 0, {"/", "t", [] { return ""; }}).ok());
}

}  // namespace foundling
