// A board on a CAN interface of a test guest for somebody to touch: six messages, 200 bits of which
// move by themselves, and bit 0.0 of 2D0, which follows a switch after a fifth of a second. The
// switch is a file: it is on while the file is there. For tests only: outside a test guest, which
// says so in its environment, it refuses an interface whose name is not vcan….
//   touched_sender INTERFACE SWITCH_FILE
#include <linux/can.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <random>

#include "tests/system/sending_socket.h"

namespace {

constexpr int tick_ms = 20;
constexpr int lag_ticks = 10;
constexpr int noisy_messages = 5;  // of five moving bytes each: 200 bits

volatile std::sig_atomic_t asked_to_stop = 0;

bool send_frame(int socket, std::uint32_t id, const std::array<std::uint8_t, 8>& payload) {
  can_frame frame{};
  frame.can_id = id;
  frame.len = 8;
  std::memcpy(frame.data, payload.data(), payload.size());
  return write(socket, &frame, sizeof frame) == static_cast<ssize_t>(sizeof frame);
}

class Board {
 public:
  // Everything that is due at this tick.
  bool send(int socket, std::uint32_t tick, bool on) {
    past_[tick % past_.size()] = on;
    const bool lagged = past_[(tick + past_.size() - lag_ticks) % past_.size()];
    bool sent = send_frame(socket, 0x2D0,
                           {static_cast<std::uint8_t>(lagged ? 1 : 0), 0x2A, 0, 0, 0, 0,
                            static_cast<std::uint8_t>(tick % 16), 0});
    for (std::uint32_t i = 0; i < noisy_messages; ++i) {
      if (tick % (i + 1) != 0) continue;
      drift_[i] += static_cast<int>(random_() % 7) - 3;
      const auto drift = static_cast<std::uint16_t>(drift_[i]);
      sent = send_frame(socket, 0x100 + i,
                        {static_cast<std::uint8_t>(drift >> 8U), static_cast<std::uint8_t>(drift),
                         noise(), noise(), noise(), 0, 0, 0}) &&
             sent;
    }
    return sent;
  }

 private:
  std::uint8_t noise() { return static_cast<std::uint8_t>(random_()); }

  std::mt19937 random_{11};
  std::array<bool, 2 * lag_ticks> past_{};
  std::array<int, noisy_messages> drift_{};
};

}  // namespace

int main(int argc, char** argv) {
  const bool in_guest = std::getenv("FOUNDLING_GUEST") != nullptr;
  if (argc != 3 || (!in_guest && std::strncmp(argv[1], "vcan", 4) != 0)) {
    std::fputs("touched_sender vcanN SWITCH_FILE\n", stderr);
    return 2;
  }
  std::signal(SIGTERM, [](int) { asked_to_stop = 1; });
  const int socket = open_sending_socket(argv[1]);
  if (socket < 0) {
    std::perror(argv[1]);
    return 1;
  }
  Board board;
  timespec due{};
  clock_gettime(CLOCK_MONOTONIC, &due);
  for (std::uint32_t tick = 0; asked_to_stop == 0; ++tick) {
    if (!board.send(socket, tick, access(argv[2], F_OK) == 0)) std::perror("send");
    due.tv_nsec += tick_ms * 1'000'000L;
    if (due.tv_nsec >= 1'000'000'000L) due = {due.tv_sec + 1, due.tv_nsec - 1'000'000'000L};
    clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &due, nullptr);
  }
  return 0;
}
