// The smallest HTTP server that a metrics collector needs: GET of one page, a connection at a time
// each, nothing else. Plain text over TCP, without passwords: on loopback unless told otherwise.
// Owns its sockets; never blocks but in wait().
#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <string>

#include "schemas/values/result.h"

namespace foundling {

class HttpServer {
 public:
  struct Page {
    std::string path;  // "/metrics"
    std::string content_type;
    std::function<std::string()> body;
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
