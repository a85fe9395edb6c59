#include "daemon/controller.h"

#include <libsocketcan.h>

#include <array>
#include <filesystem>
#include <fstream>

namespace foundling {
namespace {

std::string folder_of_interface(const std::string& name) { return "/sys/class/net/" + name; }

std::uint64_t counter(const std::string& interface, const char* which) {
  std::ifstream file(folder_of_interface(interface) + "/statistics/" + which);
  std::uint64_t value = 0;
  file >> value;
  return value;
}

std::string state_in_words(int state) {
  constexpr std::array words{"error active", "error warning", "error passive",
                             "bus off",      "stopped",       "sleeping"};
  const auto index = static_cast<std::size_t>(state);
  return index < words.size() ? words[index] : "unknown state";
}

}  // namespace

ControllerState probe_controller(const std::string& interface) {
  ControllerState found;
  found.dropped = counter(interface, "rx_dropped") + counter(interface, "rx_missed_errors");
  // A virtual interface has no device, and the library would complain of it on stderr every time.
  std::error_code failure;
  if (!std::filesystem::exists(folder_of_interface(interface) + "/device", failure)) return found;
  int state = 0;
  if (can_get_state(interface.c_str(), &state) != 0) return found;
  found.off_bus = state == CAN_STATE_BUS_OFF;
  found.words = state_in_words(state);
  can_berr_counter errors{};
  if (can_get_berr_counter(interface.c_str(), &errors) == 0) {
    found.words += ", error counters: transmit " + std::to_string(errors.txerr) + ", receive " +
                   std::to_string(errors.rxerr);
  }
  const std::uint64_t overruns = counter(interface, "rx_over_errors");
  if (overruns > 0) found.words += ", overran " + std::to_string(overruns) + " times";
  return found;
}

Result<void> restart_controller(const std::string& interface) {
  if (can_do_restart(interface.c_str()) == 0) return {};
  return Error{ErrorCode::io,
               interface +
                   ": the controller could not be restarted (the right CAP_NET_ADMIN is "
                   "needed: sudo setcap cap_net_admin+ep foundlingd; or let the kernel do "
                   "it: foundling bus up " +
                   interface + " --restart-ms 100)"};
}

}  // namespace foundling
