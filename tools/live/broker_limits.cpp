#include "tools/live/broker_limits.h"

#include <linux/tcp.h>
#include <netinet/in.h>
#include <sys/socket.h>

#include <algorithm>
#include <utility>

namespace foundling {
namespace {

constexpr int small_buffer = 4096;
// A chain of certificates takes up to some 16 KiB, an answer with its properties less than 1 KiB.
constexpr std::uint64_t most_at_start = std::uint64_t{64} << 10U;
// Acknowledgements of what we sent: 4 bytes each, and only the status is acknowledged. Pings: 2
// bytes in 5 s; with TLS some 30 more each.
constexpr std::uint64_t share_of_sent = 8;

}  // namespace

void take_in_small_pieces(int socket) {
  setsockopt(socket, SOL_SOCKET, SO_RCVBUF, &small_buffer, sizeof small_buffer);
}

bool sends_too_much(int socket) {
  tcp_info info{};
  socklen_t size = sizeof info;
  if (socket < 0 || getsockopt(socket, IPPROTO_TCP, TCP_INFO, &info, &size) != 0) return false;
  return info.tcpi_bytes_received > most_at_start + info.tcpi_bytes_acked / share_of_sent;
}

std::optional<std::uint64_t> MessageBudget::spend(std::chrono::steady_clock::time_point now) {
  const std::chrono::duration<double> since = now - std::exchange(last_, now);
  left_ = std::min(most, left_ + std::max(0.0, since.count()) / seconds_for_one);
  if (left_ < 1) {
    ++kept_back_;
    return std::nullopt;
  }
  left_ -= 1;
  return std::exchange(kept_back_, 0);
}

}  // namespace foundling
