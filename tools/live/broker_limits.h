// What a broker may cost us: bytes of the connection, lines in a log.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>

namespace foundling {

// libmosquitto makes room for a packet as large as the broker says and reads as long as there is
// more. With a small buffer in the kernel it comes back after each few kilobytes, so that
// sends_too_much() is asked in time.
void take_in_small_pieces(int socket);

// Whether more came over this connection than a broker has to say to whoever subscribes to nothing:
// its certificates, an answer, and a byte or two for each message and ping.
[[nodiscard]] bool sends_too_much(int socket);

// Ten messages at once, then one in ten seconds.
class MessageBudget {
 public:
  // How many were kept back before this one; nothing where it is to be kept back too.
  std::optional<std::uint64_t> spend(std::chrono::steady_clock::time_point now);

 private:
  static constexpr double most = 10;
  static constexpr double seconds_for_one = 10;

  double left_ = most;
  std::chrono::steady_clock::time_point last_;
  std::uint64_t kept_back_ = 0;
};

}  // namespace foundling
