// The socket of a test program that plays a board: it sends, CAN FD frames too, and hears nothing.
#pragma once

#include <linux/can.h>
#include <linux/can/raw.h>
#include <net/if.h>
#include <sys/socket.h>

// -1 where there is no such interface.
inline int open_sending_socket(const char* interface) {
  const int socket = ::socket(PF_CAN, SOCK_RAW, CAN_RAW);
  const int on = 1;
  setsockopt(socket, SOL_CAN_RAW, CAN_RAW_FD_FRAMES, &on, sizeof on);
  setsockopt(socket, SOL_CAN_RAW, CAN_RAW_FILTER, nullptr, 0);  // receives nothing itself
  sockaddr_can address{};
  address.can_family = AF_CAN;
  address.can_ifindex = static_cast<int>(if_nametoindex(interface));
  const auto* bound = reinterpret_cast<const sockaddr*>(&address);
  if (address.can_ifindex == 0 || bind(socket, bound, sizeof address) != 0) return -1;
  return socket;
}
