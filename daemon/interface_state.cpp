#include "daemon/interface_state.h"

#include <net/if.h>
#include <net/if_arp.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cstring>

namespace foundling {

InterfaceState probe_interface(const std::string& name) {
  InterfaceState state;
  if (name.empty() || name.size() >= IFNAMSIZ) return state;
  // Any socket will do to ask about interfaces.
  const int asking = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  if (asking < 0) return state;
  ifreq request{};
  std::memcpy(request.ifr_name, name.data(), name.size());
  if (ioctl(asking, SIOCGIFINDEX, &request) == 0) {
    state.index = static_cast<unsigned>(request.ifr_ifindex);
    if (ioctl(asking, SIOCGIFHWADDR, &request) == 0) {
      state.is_can = request.ifr_hwaddr.sa_family == ARPHRD_CAN;
    }
    if (ioctl(asking, SIOCGIFFLAGS, &request) == 0) {
      state.is_up = (request.ifr_flags & IFF_UP) != 0;
    }
  }
  close(asking);
  return state;
}

std::vector<std::string> can_interfaces() {
  std::vector<std::string> names;
  if (struct if_nameindex* all = if_nameindex()) {
    for (const struct if_nameindex* one = all; one->if_index != 0; ++one) {
      if (probe_interface(one->if_name).is_can) names.emplace_back(one->if_name);
    }
    if_freenameindex(all);
  }
  return names;
}

std::string command_to_bring_up(const std::string& name, long long bit_rate) {
  // A virtual interface has no bit rate to set; only its name tells.
  if (name.starts_with("vcan") || name.starts_with("vxcan")) return "ip link set " + name + " up";
  const std::string rate = bit_rate > 0 ? std::to_string(bit_rate) : "500000";
  return "ip link set " + name + " up type can bitrate " + rate;
}

}  // namespace foundling
