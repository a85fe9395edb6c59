#include "daemon/socket_message.h"

#include <linux/can.h>
#include <linux/errqueue.h>
#include <sys/socket.h>

#include <algorithm>
#include <cstring>
#include <ctime>

namespace foundling {
namespace {

template <typename T>
T content(const cmsghdr* control) {
  T value{};
  std::memcpy(&value, CMSG_DATA(control), sizeof value);
  return value;
}

void read_control(const msghdr& message, Arrival& arrival) {
  // The macros cast the constness away, and only read.
  auto* header = const_cast<msghdr*>(&message);
  for (cmsghdr* control = CMSG_FIRSTHDR(header); control != nullptr;
       control = CMSG_NXTHDR(header, control)) {
    if (control->cmsg_level != SOL_SOCKET) continue;
    if (control->cmsg_type == SCM_TIMESTAMPNS) {
      const auto time = content<timespec>(control);
      arrival.wall_ns = std::int64_t{time.tv_sec} * 1'000'000'000 + time.tv_nsec;
    } else if (control->cmsg_type == SCM_TIMESTAMPING) {
      const timespec time = content<scm_timestamping>(control).ts[2];  // raw hardware stamp
      arrival.hardware_ns = std::int64_t{time.tv_sec} * 1'000'000'000 + time.tv_nsec;
    } else if (control->cmsg_type == SO_RXQ_OVFL) {
      arrival.drops = content<std::uint32_t>(control);
    }
  }
}

}  // namespace

std::optional<Arrival> read_message(const msghdr& message, std::size_t bytes) {
  if (bytes != CAN_MTU && bytes != CANFD_MTU) return {};
  canfd_frame raw{};  // a classical frame has the same first bytes
  std::memcpy(&raw, message.msg_iov->iov_base, bytes);
  Arrival arrival;
  arrival.frame.id = {raw.can_id};
  const std::size_t longest = bytes == CAN_MTU ? CAN_MAX_DLEN : CANFD_MAX_DLEN;
  arrival.frame.length = static_cast<std::uint8_t>(std::min<std::size_t>(raw.len, longest));
  if (bytes == CANFD_MTU) {
    constexpr unsigned known = fd_flag_bit_rate_switch | fd_flag_error_state;
    arrival.frame.flags = static_cast<std::uint8_t>((raw.flags & known) | fd_flag_fd_format);
  }
  std::copy_n(raw.data, arrival.frame.length, arrival.frame.payload.begin());
  read_control(message, arrival);
  return arrival;
}

}  // namespace foundling
