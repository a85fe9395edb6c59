#include "schemas/link/link_setup.h"

#include <linux/can/netlink.h>
#include <linux/if_link.h>
#include <linux/rtnetlink.h>

#include <cerrno>
#include <cmath>
#include <cstring>
#include <filesystem>

#include "schemas/link/classical_switch.h"
#include "schemas/link/netlink.h"

namespace foundling {
namespace {

std::string own_program() {
  std::error_code failure;
  const auto path = std::filesystem::read_symlink("/proc/self/exe", failure);
  return failure ? "foundling" : path.string();
}

Error refusal(const CanLink& link, const std::string& doing, int error_number) {
  if (error_number == EPERM) {
    return {ErrorCode::io, link.name + ": " + doing +
                               " needs the right to configure network interfaces "
                               "(CAP_NET_ADMIN). Grant it to this program once:\n"
                               "  sudo setcap cap_net_admin+ep " +
                               own_program() + "\nor run this one command with sudo"};
  }
  ErrorCode code = ErrorCode::io;
  std::string hint;
  if (error_number == EBUSY)
    hint = " (it must be down first: foundling bus down " + link.name + ")";
  if (error_number == EOPNOTSUPP) {
    code = ErrorCode::usage;
    hint = " (the adapter does not offer this mode)";
  }
  if (error_number == EINVAL || error_number == ERANGE || error_number == EDOM) {
    code = ErrorCode::usage;
    hint = " (the adapter cannot do this bit rate or sample point)";
  }
  return {code, link.name + ": " + doing + ": " + std::strerror(error_number) + hint};
}

can_bittiming timing(std::uint32_t bit_rate, double sample_point) {
  can_bittiming wanted{};
  wanted.bitrate = bit_rate;
  wanted.sample_point = static_cast<std::uint32_t>(std::lround(sample_point * 1000));
  return wanted;
}

can_ctrlmode mode(const LinkSetup& setup, bool bus_error_reports) {
  can_ctrlmode wanted{};
  wanted.mask = CAN_CTRLMODE_LISTENONLY | CAN_CTRLMODE_LOOPBACK | CAN_CTRLMODE_ONE_SHOT |
                CAN_CTRLMODE_BERR_REPORTING | CAN_CTRLMODE_PRESUME_ACK | CAN_CTRLMODE_FD;
  if (!setup.acknowledge) wanted.flags |= CAN_CTRLMODE_LISTENONLY;
  if (setup.data_bit_rate != 0) wanted.flags |= CAN_CTRLMODE_FD;
  if (bus_error_reports) wanted.flags |= CAN_CTRLMODE_BERR_REPORTING;
  return wanted;
}

// Both timings and the mode in one message: the kernel takes FD only with all of them, and
// libsocketcan knows no data bit rate.
int configure_fd(const CanLink& link, const LinkSetup& setup, const can_ctrlmode& wanted) {
  netlink::LinkRequest request(RTM_NEWLINK, NLM_F_ACK, link.index);
  request.open_nest(IFLA_LINKINFO);
  request.add(IFLA_INFO_KIND, std::span<const char>("can", 3));
  request.open_nest(IFLA_INFO_DATA);
  request.add(IFLA_CAN_CTRLMODE, wanted);
  request.add(IFLA_CAN_BITTIMING, timing(setup.bit_rate, setup.sample_point));
  request.add(IFLA_CAN_DATA_BITTIMING, timing(setup.data_bit_rate, setup.data_sample_point));
  request.close_nest();
  request.close_nest();
  int error_number = 0;
  const auto done = netlink::ask(
      request, [](std::span<const char>) {}, &error_number);
  return done ? 0 : error_number;
}

// The errno of what was refused, or 0.
int configure(const CanLink& link, const LinkSetup& setup, bool bus_error_reports) {
  const can_ctrlmode wanted = mode(setup, bus_error_reports);
  if (setup.data_bit_rate != 0) {
    if (const int refused = configure_fd(link, setup, wanted); refused != 0) return refused;
  } else {
    if (const int refused = classical::set_mode(link.name, wanted); refused != 0) return refused;
    const can_bittiming nominal = timing(setup.bit_rate, setup.sample_point);
    if (const int refused = classical::set_timing(link.name, nominal); refused != 0) return refused;
  }
  return classical::set_restart_ms(link.name, setup.restart_ms);
}

// Reports of single bus errors tell a wrong rate from a missing acknowledge, but not every
// adapter has them.
Result<void> configure_as_offered(const CanLink& link, const LinkSetup& setup) {
  int refused = configure(link, setup, true);
  if (refused == EOPNOTSUPP) refused = configure(link, setup, false);
  if (refused != 0) return refusal(link, "setting its bit rate and mode", refused);
  return {};
}

}  // namespace

Result<void> bring_up(const CanLink& link, const LinkSetup& setup) {
  if (link.kind == "can") {
    if (auto done = configure_as_offered(link, setup); !done) return done;
  }
  const int refused = classical::switch_on(link.name);
  if (refused != 0) return refusal(link, "switching it on", refused);
  return {};
}

Result<void> take_down(const CanLink& link) {
  const int refused = classical::switch_off(link.name);
  if (refused != 0) return refusal(link, "switching it off", refused);
  return {};
}

Result<void> put_back(const CanLink& former) {
  if (former.kind != "can" || former.nominal.bit_rate == 0) return {};
  LinkSetup setup;
  setup.bit_rate = former.nominal.bit_rate;
  setup.sample_point = former.nominal.sample_point;
  setup.data_bit_rate = former.fd ? former.data.bit_rate : 0;
  setup.data_sample_point = former.data.sample_point;
  setup.acknowledge = !former.listen_only;
  setup.restart_ms = former.restart_ms;
  return configure_as_offered(former, setup);
}

Result<void> restart(const CanLink& link) {
  if (auto off = take_down(link); !off) return off;
  const int refused = classical::switch_on(link.name);
  if (refused != 0) return refusal(link, "switching it on", refused);
  return {};
}

}  // namespace foundling
