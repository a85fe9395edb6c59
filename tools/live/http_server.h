// The smallest HTTP server that a metrics collector needs, on Boost.Beast: GET of one page, one
// request a connection. Plain text over TCP, without passwords: on loopback unless told otherwise.
// Connections, the header's size and the time for it are limited; whoever is slow for longest makes
// room for who comes. Refuses a Host that is not ours (http_host.h). Never blocks but in wait().
#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "schemas/values/result.h"

namespace foundling {

class HttpServer {
 public:
  struct Page {
    std::string path;  // "/metrics"
    std::string content_type;
    std::function<std::string()> body;
    std::vector<std::string> names = {};  // under which it may be asked for, beside our own
  };

  // `address` is numeric, IPv4 or IPv6; port 0 takes a free one.
  static Result<HttpServer> listen(const std::string& address, int port, Page page);
  HttpServer(HttpServer&&) noexcept;
  HttpServer& operator=(HttpServer&&) noexcept;
  ~HttpServer();

  [[nodiscard]] int port() const;
  // Serves who is there, for up to so long.
  void wait(std::chrono::milliseconds longest);

 private:
  struct State;
  explicit HttpServer(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace foundling
