#include "schemas/link/link_setup.h"

#include <linux/can/netlink.h>
#include <linux/if_link.h>
#include <linux/rtnetlink.h>

#include <cerrno>
#include <cmath>
#include <filesystem>

#include "schemas/link/netlink.h"

namespace foundling {
namespace {

constexpr unsigned acknowledged = NLM_F_ACK;

std::string own_program() {
  std::error_code failure;
  const auto path = std::filesystem::read_symlink("/proc/self/exe", failure);
  return failure ? "foundling" : path.string();
}

Error refusal(const CanLink& link, const std::string& doing, int error_number,
              const std::string& words) {
  if (error_number == EPERM) {
    return {ErrorCode::io, link.name + ": " + doing +
                               " needs the right to configure network interfaces "
                               "(CAP_NET_ADMIN). Grant it to this program once:\n"
                               "  sudo setcap cap_net_admin+ep " +
                               own_program() + "\nor run this one command with sudo"};
  }
  std::string hint;
  if (error_number == EBUSY)
    hint = " (it must be down first: foundling bus down " + link.name + ")";
  if (error_number == EOPNOTSUPP) hint = " (the adapter does not offer this mode)";
  if (error_number == EINVAL || error_number == ERANGE || error_number == EDOM) {
    hint = " (the adapter cannot do this bit rate or sample point)";
  }
  return {ErrorCode::io, link.name + ": " + doing + ": " + words + hint};
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

Result<void> configure(const CanLink& link, const LinkSetup& setup, bool bus_error_reports,
                       int& error_number) {
  netlink::LinkRequest request(RTM_NEWLINK, acknowledged, link.index);
  request.open_nest(IFLA_LINKINFO);
  request.add(IFLA_INFO_KIND, std::span<const char>("can", 3));
  request.open_nest(IFLA_INFO_DATA);
  request.add(IFLA_CAN_CTRLMODE, mode(setup, bus_error_reports));
  request.add(IFLA_CAN_BITTIMING, timing(setup.bit_rate, setup.sample_point));
  if (setup.data_bit_rate != 0) {
    request.add(IFLA_CAN_DATA_BITTIMING, timing(setup.data_bit_rate, setup.data_sample_point));
  }
  request.add(IFLA_CAN_RESTART_MS, setup.restart_ms);
  request.close_nest();
  request.close_nest();
  return netlink::ask(
      request, [](std::span<const char>) {}, &error_number);
}

Result<void> switch_link(const CanLink& link, bool on) {
  netlink::LinkRequest request(RTM_NEWLINK, acknowledged, link.index);
  request.set_up_flag(on);
  int error_number = 0;
  const auto done = netlink::ask(
      request, [](std::span<const char>) {}, &error_number);
  if (done) return {};
  return refusal(link, on ? "switching it on" : "switching it off", error_number,
                 done.error().message);
}

}  // namespace

Result<void> bring_up(const CanLink& link, const LinkSetup& setup) {
  if (link.kind == "can") {
    int error_number = 0;
    // Reports of single bus errors tell a wrong rate from a missing acknowledge, but not every
    // adapter has them.
    auto done = configure(link, setup, true, error_number);
    if (!done && error_number == EOPNOTSUPP) done = configure(link, setup, false, error_number);
    if (!done)
      return refusal(link, "setting its bit rate and mode", error_number, done.error().message);
  }
  return switch_link(link, true);
}

Result<void> take_down(const CanLink& link) { return switch_link(link, false); }

Result<void> restart(const CanLink& link) {
  if (auto off = switch_link(link, false); !off) return off;
  return switch_link(link, true);
}

}  // namespace foundling
