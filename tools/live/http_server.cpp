#include "tools/live/http_server.h"

#include <fcntl.h>
#include <netdb.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <string_view>
#include <utility>
#include <vector>

namespace foundling {
namespace {

using Clock = std::chrono::steady_clock;

constexpr std::size_t most_connections = 16;
constexpr std::size_t longest_request = 8192;
constexpr std::chrono::seconds patience(5);  // with a client, from its first byte to its last

struct Connection {
  int socket = -1;
  Clock::time_point until;
  std::string request;
  std::string answer;  // not empty: being sent
  std::size_t sent = 0;
};

std::string answer_of(std::string_view status, std::string_view type, const std::string& body,
                      bool head_only, std::string_view more = {}) {
  std::string text = "HTTP/1.1 " + std::string(status) + "\r\nContent-Type: " + std::string(type) +
                     "\r\nContent-Length: " + std::to_string(body.size()) +
                     "\r\nCache-Control: no-store\r\n" + std::string(more) +
                     "Connection: close\r\n\r\n";
  return head_only ? text : text + body;
}

std::string refusal(std::string_view status, std::string_view more = {}) {
  return answer_of(status, "text/plain; charset=utf-8", std::string(status) + "\n", false, more);
}

// RFC 9112: METHOD SP TARGET SP HTTP/1.x CRLF, then header lines that do not matter here.
std::string answer_to(const std::string& request, const HttpServer::Page& page) {
  const std::string_view line = std::string_view(request).substr(0, request.find("\r\n"));
  const std::size_t first = line.find(' ');
  const std::size_t second = line.rfind(' ');
  if (first == std::string_view::npos || second <= first + 1 ||
      line.substr(second + 1, 7) != "HTTP/1.") {
    return refusal("400 Bad Request");
  }
  const std::string_view method = line.substr(0, first);
  if (method != "GET" && method != "HEAD") {
    return refusal("405 Method Not Allowed", "Allow: GET, HEAD\r\n");
  }
  const std::string_view target = line.substr(first + 1, second - first - 1);
  if (target.substr(0, target.find('?')) != page.path) return refusal("404 Not Found");
  return answer_of("200 OK", page.content_type, page.body(), method == "HEAD");
}

}  // namespace

struct HttpServer::State {
  Page page;
  int listener = -1;
  int port = 0;
  std::vector<Connection> connections;

  ~State() {
    for (const Connection& one : connections) close(one.socket);
    if (listener >= 0) close(listener);
  }

  void take_new() {
    for (;;) {
      const int socket = accept4(listener, nullptr, nullptr, SOCK_NONBLOCK | SOCK_CLOEXEC);
      if (socket < 0) return;
      if (connections.size() >= most_connections) {
        close(socket);
      } else {
        connections.push_back({socket, Clock::now() + patience, {}, {}, 0});
      }
    }
  }

  // False: the connection is done with.
  bool go_on(Connection& one, bool ready) const {
    if (Clock::now() > one.until) return false;
    if (!ready) return true;
    if (one.answer.empty()) {
      std::array<char, 2048> chunk{};
      const ssize_t got = recv(one.socket, chunk.data(), chunk.size(), 0);
      if (got <= 0) return got < 0 && (errno == EAGAIN || errno == EINTR);
      one.request.append(chunk.data(), static_cast<std::size_t>(got));
      if (one.request.find("\r\n\r\n") != std::string::npos) {
        one.answer = answer_to(one.request, page);
      } else if (one.request.size() > longest_request) {
        one.answer = refusal("431 Request Header Fields Too Large");
      } else {
        return true;
      }
    }
    const ssize_t put =
        send(one.socket, one.answer.data() + one.sent, one.answer.size() - one.sent, MSG_NOSIGNAL);
    if (put < 0) return errno == EAGAIN || errno == EINTR;
    one.sent += static_cast<std::size_t>(put);
    if (one.sent < one.answer.size()) return true;
    shutdown(one.socket, SHUT_WR);
    return false;
  }
};

HttpServer::HttpServer(std::unique_ptr<State> state) : state_(std::move(state)) {}
HttpServer::HttpServer(HttpServer&&) noexcept = default;
HttpServer& HttpServer::operator=(HttpServer&&) noexcept = default;
HttpServer::~HttpServer() = default;

int HttpServer::port() const { return state_->port; }

Result<HttpServer> HttpServer::listen(const std::string& address, int port, Page page) {
  const std::string place = address + " port " + std::to_string(port);
  addrinfo wanted{};
  wanted.ai_family = AF_UNSPEC;
  wanted.ai_socktype = SOCK_STREAM;
  wanted.ai_flags = AI_NUMERICHOST | AI_NUMERICSERV | AI_PASSIVE;
  addrinfo* found = nullptr;
  if (getaddrinfo(address.c_str(), std::to_string(port).c_str(), &wanted, &found) != 0) {
    return Error{ErrorCode::usage, "'" + address + "' is no numeric address to listen on"};
  }
  auto state = std::make_unique<State>();
  state->page = std::move(page);
  state->listener =
      socket(found->ai_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, found->ai_protocol);
  const int on = 1;
  setsockopt(state->listener, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
  const bool listening = state->listener >= 0 &&
                         bind(state->listener, found->ai_addr, found->ai_addrlen) == 0 &&
                         ::listen(state->listener, 16) == 0;
  const int why = errno;
  freeaddrinfo(found);
  if (!listening) {
    return Error{ErrorCode::io, "cannot listen on " + place + ": " + std::strerror(why)};
  }
  sockaddr_storage bound{};
  socklen_t size = sizeof bound;
  getsockname(state->listener, reinterpret_cast<sockaddr*>(&bound), &size);
  std::array<char, 16> service{};
  if (getnameinfo(reinterpret_cast<sockaddr*>(&bound), size, nullptr, 0, service.data(),
                  service.size(), NI_NUMERICSERV) == 0) {
    state->port = std::atoi(service.data());
  }
  return HttpServer(std::move(state));
}

void HttpServer::wait(std::chrono::milliseconds longest) {
  State& state = *state_;
  const auto until = Clock::now() + longest;
  for (;;) {
    const auto left = std::chrono::ceil<std::chrono::milliseconds>(until - Clock::now());
    std::vector<pollfd> waited{{state.listener, POLLIN, 0}};
    for (const Connection& one : state.connections) {
      waited.push_back({one.socket, one.answer.empty() ? short{POLLIN} : short{POLLOUT}, 0});
    }
    const int ready =
        poll(waited.data(), waited.size(), left.count() > 0 ? static_cast<int>(left.count()) : 0);
    if (ready < 0) return;  // a signal
    std::vector<Connection> kept;
    for (std::size_t i = 0; i < state.connections.size(); ++i) {
      Connection& one = state.connections[i];
      if (state.go_on(one, waited[i + 1].revents != 0)) {
        kept.push_back(std::move(one));
      } else {
        close(one.socket);
      }
    }
    state.connections = std::move(kept);
    if (waited[0].revents != 0) state.take_new();
    if (Clock::now() >= until) return;
  }
}

}  // namespace foundling
