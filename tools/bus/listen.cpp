#include "tools/bus/listen.h"

#include <linux/can.h>
#include <linux/can/error.h>
#include <linux/can/raw.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>

#include "schemas/link/owned_socket.h"

namespace foundling {
namespace {

using Clock = std::chrono::steady_clock;

// So many sound frames need no further listening, unless they are all alike.
constexpr std::uint64_t frames_enough = 200;

Error failed(const CanLink& link, const char* doing) {
  return {ErrorCode::io, link.name + ": " + doing + ": " + std::strerror(errno)};
}

Result<void> open_on(const OwnedSocket& socket, const CanLink& link) {
  if (socket.handle() < 0) return failed(link, "no CAN socket");
  const can_err_mask_t every_error = CAN_ERR_MASK;
  const int on = 1;
  setsockopt(socket.handle(), SOL_CAN_RAW, CAN_RAW_ERR_FILTER, &every_error, sizeof every_error);
  setsockopt(socket.handle(), SOL_CAN_RAW, CAN_RAW_FD_FRAMES, &on, sizeof on);
  sockaddr_can address{};
  address.can_family = AF_CAN;
  address.can_ifindex = static_cast<int>(link.index);
  if (bind(socket.handle(), reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
    return failed(link, "cannot listen");
  }
  return {};
}

void hear(const canfd_frame& raw, bool fd, Clock::time_point start, Listening& heard) {
  Frame frame;
  if (fd) frame.flags = raw.flags | fd_flag_fd_format;
  frame.id = {raw.can_id};
  frame.length = std::min<std::uint8_t>(raw.len, CANFD_MAX_DLEN);
  std::copy_n(raw.data, frame.length, frame.payload.begin());
  frame.t_ns = std::chrono::duration_cast<std::chrono::nanoseconds>(Clock::now() - start).count();
  heard.add(frame);
}

// Classical frames say nothing of the data rate, and FD frames may be rare among them.
bool heard_enough(const Listening& heard) {
  const std::uint64_t frames = heard.data_bit_rate() == 0 ? heard.frames() : heard.switched();
  return frames >= frames_enough && judge(heard) == BusVerdict::good;
}

}  // namespace

Result<Listening> listen_to(const CanLink& link, Listening heard,
                            std::chrono::milliseconds how_long,
                            const std::function<bool()>& stopped) {
  const OwnedSocket socket(PF_CAN, SOCK_RAW | SOCK_CLOEXEC | SOCK_NONBLOCK, CAN_RAW);
  if (auto opened = open_on(socket, link); !opened) return opened.error();
  const auto start = Clock::now();
  const auto end = start + how_long;
  for (auto now = start; now < end && !stopped(); now = Clock::now()) {
    const auto left = std::chrono::ceil<std::chrono::milliseconds>(end - now);
    pollfd waiting{socket.handle(), POLLIN, 0};
    if (poll(&waiting, 1, static_cast<int>(left.count())) < 0 && errno != EINTR) {
      return failed(link, "cannot listen");
    }
    canfd_frame raw{};
    ssize_t size = 0;
    while (Clock::now() < end && (size = read(socket.handle(), &raw, sizeof raw)) > 0) {
      hear(raw, size == CANFD_MTU, start, heard);
      raw = {};
    }
    if (size < 0 && errno != EAGAIN && errno != EINTR) return failed(link, "cannot listen");
    if (heard_enough(heard)) break;
  }
  return heard;
}

}  // namespace foundling
