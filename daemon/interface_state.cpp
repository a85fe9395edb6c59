#include "daemon/interface_state.h"

#include "schemas/link/link_message.h"
#include "schemas/link/link_setup.h"

namespace foundling {
namespace {

std::string controller_in_words(const CanLink& link) {
  std::string words = link.state;
  if (link.transmit_errors && link.receive_errors) {
    words += ", error counters: transmit " + std::to_string(*link.transmit_errors) + ", receive " +
             std::to_string(*link.receive_errors);
  }
  if (link.counters.overruns > 0) {
    words += ", overran " + std::to_string(link.counters.overruns) + " times";
  }
  return words;
}

}  // namespace

InterfaceState probe_interface(const std::string& name) {
  const auto link = can_link(name);
  if (!link) return {};
  return {link->index, link->up, link->state == "bus off",
          link->state.empty() ? std::string() : controller_in_words(*link), link->counters.dropped};
}

Result<void> restart_controller(const std::string& name) {
  const auto link = can_link(name);
  if (!link) return link.error();
  if (restart(*link)) return {};
  return Error{ErrorCode::io,
               name +
                   ": the controller could not be restarted (the right CAP_NET_ADMIN is "
                   "needed: sudo setcap cap_net_admin+ep foundlingd; or let the kernel do "
                   "it: foundling bus up " +
                   name + " --restart-ms 100)"};
}

std::string command_to_bring_up(const std::string& name, long long bit_rate) {
  const std::string command = "foundling bus up " + name;
  // A virtual interface has no bit rate to set.
  const auto link = can_link(name);
  if (link && link->is_virtual()) return command;
  return command + " --bit-rate " + std::to_string(bit_rate > 0 ? bit_rate : 500'000);
}

}  // namespace foundling
