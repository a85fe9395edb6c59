#include "tools/live/http_server.h"

// One thread serves, and the thread sanitizer does not understand Asio's fences between threads.
#define BOOST_ASIO_DISABLE_FENCED_BLOCK

#include <unistd.h>

#include <utility>
// Asio of Boost 1.74 needs <utility> before it under g++ 12.
#include <algorithm>
#include <array>
#include <boost/asio/buffer.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <list>
#include <optional>

#include "tools/live/http_host.h"

namespace foundling {
namespace {

namespace beast = boost::beast;
namespace http = beast::http;
using boost::asio::ip::tcp;
using Code = boost::system::error_code;

constexpr std::size_t most_connections = 32;
constexpr std::uint32_t longest_header = 8192;
constexpr std::chrono::seconds patience(5);  // with a client, from its first byte to its last

using Request = http::request<http::empty_body>;
using Answer = http::response<http::string_body>;

Answer refusal(http::status status) {
  Answer answer(status, 11);
  answer.set(http::field::content_type, "text/plain; charset=utf-8");
  answer.body() = std::string(http::obsolete_reason(status)) + '\n';
  if (status == http::status::method_not_allowed) answer.set(http::field::allow, "GET, HEAD");
  return answer;
}

http::status status_of(const Request& request, const HttpServer::Page& page,
                       const ServedPlace& place) {
  const auto hosts = request.count(http::field::host);
  if (hosts > 1 || (hosts == 0 && request.version() == 11)) return http::status::bad_request;
  // A page of somebody else's in a browser on this machine must not read ours under its own name.
  const auto host = request[http::field::host];
  if (hosts == 1 && !is_named(place, {host.data(), host.size()})) {
    return http::status::misdirected_request;
  }
  if (request.method() != http::verb::get && request.method() != http::verb::head) {
    return http::status::method_not_allowed;
  }
  const std::string target(request.target());
  return target.substr(0, target.find('?')) == page.path ? http::status::ok
                                                         : http::status::not_found;
}

Answer answer_to(const Request& request, const HttpServer::Page& page, const ServedPlace& place) {
  const http::status status = status_of(request, page, place);
  if (status != http::status::ok) return refusal(status);
  Answer answer(status, 11);
  answer.set(http::field::content_type, page.content_type);
  answer.body() = page.body();
  return answer;
}

// One client, one request, one answer. Lives as long as something of it is under way.
class Connection : public std::enable_shared_from_this<Connection> {
 public:
  Connection(tcp::socket socket, const HttpServer::Page& page, const ServedPlace& place)
      : stream_(std::move(socket)), page_(page), place_(place) {
    parser_.header_limit(longest_header);
    stream_.expires_after(patience);
  }
  void begin() {
    boost::asio::async_read_until(stream_, boost::asio::dynamic_buffer(request_, longest_header),
                                  "\r\n\r\n",
                                  [self = shared_from_this()](Code problem, std::size_t size) {
                                    self->on_header(problem, size);
                                  });
  }
  void drop() { stream_.close(); }

 private:
  // `size` bytes of header are there, or will not be.
  void on_header(Code problem, std::size_t size) {
    if (problem == boost::asio::error::not_found) {
      return send(refusal(http::status::request_header_fields_too_large), true);
    }
    if (problem) return;  // gone, or too slow
    parser_.put(boost::asio::buffer(request_.data(), size), problem);
    if (problem || !parser_.is_header_done()) return send(refusal(http::status::bad_request), true);
    const Request& request = parser_.get();
    const bool with_body = request.method() != http::verb::head;
    send(answer_to(request, page_, place_), with_body);
  }
  void send(Answer answer, bool with_body) {
    answer_ = std::move(answer);
    answer_.set(http::field::cache_control, "no-store");
    answer_.keep_alive(false);
    answer_.prepare_payload();
    serializer_.emplace(answer_);
    const auto ended = [self = shared_from_this()](Code, std::size_t) { self->end(); };
    if (with_body) return http::async_write(stream_, *serializer_, ended);
    http::async_write_header(stream_, *serializer_, ended);
  }
  void end() {
    Code ignored;
    stream_.socket().shutdown(tcp::socket::shutdown_send, ignored);
  }

  beast::tcp_stream stream_;
  const HttpServer::Page& page_;
  const ServedPlace& place_;
  std::string request_;
  http::request_parser<http::empty_body> parser_;
  Answer answer_;
  std::optional<http::response_serializer<http::string_body>> serializer_;
};

}  // namespace

struct HttpServer::State {
  Page page;
  ServedPlace place;
  boost::asio::io_context context{1};
  tcp::acceptor acceptor{context};
  boost::asio::steady_timer pause{context};
  std::list<std::weak_ptr<Connection>> connections;  // the oldest first

  // Whoever comes is served: where there are too many, the one that has been slow for longest goes.
  void make_room() {
    connections.remove_if([](const auto& one) { return one.expired(); });
    while (connections.size() >= most_connections) {
      if (const auto oldest = connections.front().lock()) oldest->drop();
      connections.pop_front();
    }
  }
  // No descriptor is left, say: asked again at once, it would only be refused again.
  void rest() {
    pause.expires_after(std::chrono::milliseconds(100));
    pause.async_wait([this](Code problem) {
      if (!problem) accept();
    });
  }
  void accept() {
    acceptor.async_accept([this](Code problem, tcp::socket socket) {
      if (problem == boost::asio::error::operation_aborted) return;
      if (problem) return rest();
      make_room();
      const auto fresh = std::make_shared<Connection>(std::move(socket), page, place);
      connections.push_back(fresh);
      fresh->begin();
      accept();
    });
  }
};

HttpServer::HttpServer(std::unique_ptr<State> state) : state_(std::move(state)) {}
HttpServer::HttpServer(HttpServer&&) noexcept = default;
HttpServer& HttpServer::operator=(HttpServer&&) noexcept = default;
HttpServer::~HttpServer() = default;

int HttpServer::port() const { return state_->acceptor.local_endpoint().port(); }

Result<HttpServer> HttpServer::listen(const std::string& address, int port, Page page) {
  Code problem;
  const auto numeric = boost::asio::ip::make_address(address, problem);
  if (problem) {
    return Error{ErrorCode::usage, "'" + address + "' is no numeric address to listen on"};
  }
  auto state = std::make_unique<State>();
  state->page = std::move(page);
  const tcp::endpoint place(numeric, static_cast<std::uint16_t>(port));
  tcp::acceptor& acceptor = state->acceptor;
  acceptor.open(place.protocol(), problem);
  if (!problem) acceptor.set_option(tcp::acceptor::reuse_address(true), problem);
  if (!problem) acceptor.bind(place, problem);
  if (!problem) acceptor.listen(boost::asio::socket_base::max_listen_connections, problem);
  if (problem) {
    return Error{ErrorCode::io, "cannot listen on " + address + " port " + std::to_string(port) +
                                    ": " + problem.message()};
  }
  std::array<char, 256> name{};
  ::gethostname(name.data(), name.size() - 1);
  state->place = {address, name.data(), numeric.is_unspecified(), acceptor.local_endpoint().port(),
                  state->page.names};
  state->accept();
  return HttpServer(std::move(state));
}

void HttpServer::wait(std::chrono::milliseconds longest) {
  if (longest.count() <= 0) {
    state_->context.poll();
    return;
  }
  state_->context.run_for(longest);
}

}  // namespace foundling
