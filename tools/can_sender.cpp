#include "tools/can_sender.h"

#include <linux/can.h>
#include <linux/can/raw.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <thread>
#include <utility>

namespace foundling {

using namespace std::chrono_literals;

Result<CanSender> CanSender::open(const CanInterface& interface) {
  const int socket = ::socket(PF_CAN, SOCK_RAW | SOCK_CLOEXEC, CAN_RAW);
  if (socket < 0) {
    return Error{ErrorCode::io, interface.name + ": no CAN socket: " + std::strerror(errno)};
  }
  CanSender sender(socket, interface.name);
  // It listens to nothing: its receive queue would only fill.
  setsockopt(socket, SOL_CAN_RAW, CAN_RAW_FILTER, nullptr, 0);
  sockaddr_can address{};
  address.can_family = AF_CAN;
  address.can_ifindex = static_cast<int>(interface.index);
  const auto* generic = reinterpret_cast<const sockaddr*>(&address);
  if (bind(socket, generic, sizeof address) != 0) {
    return Error{ErrorCode::io, interface.name + ": cannot be used: " + std::strerror(errno)};
  }
  return sender;
}

CanSender::CanSender(CanSender&& other) noexcept
    : socket_(std::exchange(other.socket_, -1)), name_(std::move(other.name_)) {}

CanSender& CanSender::operator=(CanSender&& other) noexcept {
  std::swap(socket_, other.socket_);
  std::swap(name_, other.name_);
  return *this;
}

CanSender::~CanSender() {
  if (socket_ >= 0) close(socket_);
}

Result<void> CanSender::send(const Frame& frame) {
  can_frame out{};
  out.can_id = frame.id.raw;
  out.len = frame.length;
  std::copy_n(frame.payload.begin(), std::min<std::size_t>(frame.length, CAN_MAX_DLEN), out.data);
  const auto deadline = std::chrono::steady_clock::now() + 10s;
  while (write(socket_, &out, sizeof out) != static_cast<ssize_t>(sizeof out)) {
    if (errno == EINTR) continue;
    if (errno != ENOBUFS && errno != EAGAIN) {
      return Error{ErrorCode::io, name_ + ": cannot send: " + std::strerror(errno)};
    }
    if (std::chrono::steady_clock::now() > deadline) {
      return Error{ErrorCode::io,
                   name_ + ": frames are not leaving; is anybody acknowledging on this bus?"};
    }
    std::this_thread::sleep_for(500us);
  }
  return {};
}

}  // namespace foundling
