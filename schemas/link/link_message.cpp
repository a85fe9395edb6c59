#include "schemas/link/link_message.h"

#include <linux/can/netlink.h>
#include <linux/if_link.h>
#include <linux/rtnetlink.h>
#include <net/if.h>
#include <net/if_arp.h>

#include <algorithm>
#include <array>
#include <cstring>

#include "schemas/link/netlink.h"
#include "schemas/values/nearest_word.h"

namespace foundling {
namespace {

using netlink::Attributes;

// The structs grow at their end from kernel to kernel: what is missing stays zero.
template <typename T>
T leading(std::span<const char> bytes) {
  T value{};
  if (!bytes.empty()) std::memcpy(&value, bytes.data(), std::min(bytes.size(), sizeof value));
  return value;
}

BitTiming timing_of(std::span<const char> attribute) {
  const auto timing = leading<can_bittiming>(attribute);
  return {timing.bitrate, timing.sample_point / 1000.0, timing.tq, timing.sjw};
}

std::string state_in_words(std::span<const char> attribute) {
  constexpr std::array words{"error active", "error warning", "error passive",
                             "bus off",      "stopped",       "sleeping"};
  if (attribute.empty()) return {};
  const auto state = leading<std::uint32_t>(attribute);
  return state < words.size() ? words[state] : "unknown";
}

void read_controller(const Attributes& data, CanLink& link) {
  link.state = state_in_words(data.find(IFLA_CAN_STATE));
  link.nominal = timing_of(data.find(IFLA_CAN_BITTIMING));
  link.data = timing_of(data.find(IFLA_CAN_DATA_BITTIMING));
  link.clock_hz = leading<can_clock>(data.find(IFLA_CAN_CLOCK)).freq;
  link.restart_ms = leading<std::uint32_t>(data.find(IFLA_CAN_RESTART_MS));
  const auto mode = leading<can_ctrlmode>(data.find(IFLA_CAN_CTRLMODE));
  link.listen_only = (mode.flags & CAN_CTRLMODE_LISTENONLY) != 0;
  link.fd = (mode.flags & CAN_CTRLMODE_FD) != 0;
  if (const auto errors = data.find(IFLA_CAN_BERR_COUNTER); !errors.empty()) {
    const auto counters = leading<can_berr_counter>(errors);
    link.transmit_errors = counters.txerr;
    link.receive_errors = counters.rxerr;
  }
}

void read_counters(const Attributes& attributes, const Attributes& info, CanLink& link) {
  const auto stats = leading<rtnl_link_stats64>(attributes.find(IFLA_STATS64));
  link.counters.frames = stats.rx_packets;
  link.counters.dropped = stats.rx_dropped + stats.rx_missed_errors;
  link.counters.overruns = stats.rx_over_errors;
  const auto device = leading<can_device_stats>(info.find(IFLA_INFO_XSTATS));
  link.counters.bus_errors = device.bus_error;
  link.counters.times_warning = device.error_warning;
  link.counters.times_passive = device.error_passive;
  link.counters.times_bus_off = device.bus_off;
  link.counters.restarts = device.restarts;
}

}  // namespace

std::optional<CanLink> read_link_message(std::span<const char> message) {
  constexpr std::size_t heads = NLMSG_ALIGN(NLMSG_LENGTH(sizeof(ifinfomsg)));
  if (message.size() < heads) return {};
  if (leading<nlmsghdr>(message).nlmsg_type != RTM_NEWLINK) return {};
  const auto head = leading<ifinfomsg>(message.subspan(NLMSG_HDRLEN));
  if (head.ifi_type != ARPHRD_CAN) return {};
  const Attributes attributes(message.subspan(heads));
  const Attributes info = attributes.nested(IFLA_LINKINFO);
  CanLink link;
  link.name = attributes.text(IFLA_IFNAME);
  link.index = static_cast<unsigned>(head.ifi_index);
  link.kind = info.text(IFLA_INFO_KIND);
  link.up = (head.ifi_flags & IFF_UP) != 0;
  link.fd = leading<std::uint32_t>(attributes.find(IFLA_MTU)) == 72;  // CANFD_MTU
  if (link.kind == "can") read_controller(info.nested(IFLA_INFO_DATA), link);
  read_counters(attributes, info, link);
  return link;
}

Result<std::vector<CanLink>> can_links() {
  std::vector<CanLink> links;
  netlink::LinkRequest request(RTM_GETLINK, NLM_F_DUMP, 0);
  const auto asked = netlink::ask(request, [&](std::span<const char> message) {
    if (auto link = read_link_message(message)) links.push_back(std::move(*link));
  });
  if (!asked) {
    return Error{ErrorCode::io,
                 "the kernel does not tell its interfaces: " + asked.error().message};
  }
  return links;
}

Result<CanLink> can_link(const std::string& name) {
  const auto links = can_links();
  if (!links) return links.error();
  std::vector<std::string> names;
  std::string here;
  for (const CanLink& link : *links) {
    if (link.name == name) return link;
    names.push_back(link.name);
    here += " " + link.name;
  }
  if (if_nametoindex(name.c_str()) != 0) {
    return Error{ErrorCode::usage, name + " is not a CAN interface"};
  }
  std::string message = "there is no interface \"" + name + "\"; ";
  if (const auto near = nearest_word(name, names)) message += "did you mean " + *near + "? ";
  message += here.empty() ? "this machine has no CAN interface now" : "CAN interfaces here:" + here;
  return Error{ErrorCode::not_found, message};
}

}  // namespace foundling
