// Sends numbered frames onto a CAN interface of a test guest, at a steady rate or as fast as it
// goes, and prints how many. For tests only: outside a test guest, which says so in its
// environment, it refuses an interface whose name is not vcan….
//   frame_sender INTERFACE SEED FIRST COUNT RATE [fd]     RATE in frames/s; 0: no pause
#include <linux/can.h>
#include <sched.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <string>

#include "tests/system/numbered_frame.h"
#include "tests/system/sending_socket.h"

namespace {

volatile std::sig_atomic_t asked_to_stop = 0;

bool send_frame(int socket, const foundling::Frame& frame) {
  canfd_frame raw{};
  raw.can_id = frame.id.raw;
  raw.len = frame.length;
  raw.flags = frame.flags;
  std::copy_n(frame.payload.begin(), frame.length, raw.data);
  const std::size_t size = frame.flags != 0 ? CANFD_MTU : CAN_MTU;
  while (write(socket, &raw, size) != static_cast<ssize_t>(size)) {
    if (errno != ENOBUFS && errno != EINTR) return false;
    usleep(200);
  }
  return true;
}

// A virtual interface hands a frame to the processor that sends it. Moved to another one meanwhile,
// the sender would have the kernel deliver its frames in another order than it sent them.
void stay_on_one_processor() {
  cpu_set_t here;
  CPU_ZERO(&here);
  CPU_SET(static_cast<unsigned>(sched_getcpu()), &here);
  sched_setaffinity(0, sizeof here, &here);
}

// Above 1,000 frames/s one wait serves all frames of a millisecond.
void wait_for_turn(const timespec& start, double rate, std::uint32_t sent) {
  if (rate <= 0 || (rate > 1000 && sent % static_cast<std::uint32_t>(rate / 1000) != 0)) return;
  const double due = static_cast<double>(start.tv_nsec) * 1e-9 + sent / rate;
  timespec until = start;
  until.tv_sec += static_cast<time_t>(due);
  until.tv_nsec = static_cast<long>((due - static_cast<double>(static_cast<time_t>(due))) * 1e9);
  while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &until, nullptr) == EINTR) {
  }
}

}  // namespace

int main(int argc, char** argv) {
  const bool in_guest = std::getenv("FOUNDLING_GUEST") != nullptr;
  if (argc < 6 || (!in_guest && std::strncmp(argv[1], "vcan", 4) != 0)) {
    std::fputs("frame_sender vcanN SEED FIRST COUNT RATE [fd]\n", stderr);
    return 2;
  }
  const std::uint64_t seed = std::strtoull(argv[2], nullptr, 10);
  const auto first = static_cast<std::uint32_t>(std::strtoul(argv[3], nullptr, 10));
  const auto count = static_cast<std::uint32_t>(std::strtoul(argv[4], nullptr, 10));
  const double rate = std::strtod(argv[5], nullptr);
  const bool fd = argc > 6;
  const int socket = open_sending_socket(argv[1]);
  if (socket < 0) {
    std::perror(argv[1]);
    return 2;
  }
  std::signal(SIGTERM, [](int) { asked_to_stop = 1; });
  stay_on_one_processor();
  timespec start{};
  clock_gettime(CLOCK_MONOTONIC, &start);
  std::uint32_t sent = 0;
  while (sent < count && asked_to_stop == 0) {
    wait_for_turn(start, rate, sent);
    if (!send_frame(socket, foundling::guest::numbered_frame(seed, first + sent, fd))) {
      std::perror("send");
      break;
    }
    ++sent;
  }
  timespec end{};
  clock_gettime(CLOCK_MONOTONIC, &end);
  const double took = static_cast<double>(end.tv_sec - start.tv_sec) +
                      static_cast<double>(end.tv_nsec - start.tv_nsec) * 1e-9;
  std::fprintf(stderr, "sent %u frames in %.2f s, %.0f a second\n", sent, took, sent / took);
  std::printf("%u\n", sent);
}
