#include "schemas/link/link_message.h"

#include <doctest/doctest.h>
#include <linux/can/netlink.h>
#include <linux/if_link.h>
#include <linux/rtnetlink.h>
#include <net/if.h>
#include <net/if_arp.h>

#include <cstring>

#include "schemas/link/netlink.h"
#include "tools/bus/bus_words.h"

namespace foundling {
namespace {

// What a kernel would say of a bus at 500 kbit/s, put together by the request's own writer.
std::vector<char> link_message() {
  netlink::LinkRequest message(RTM_NEWLINK, 0, 5);
  message.add(IFLA_IFNAME, std::span<const char>("can0", 5));
  rtnl_link_stats64 stats{};
  stats.rx_packets = 1234;
  stats.rx_dropped = 2;
  stats.rx_missed_errors = 1;
  stats.rx_over_errors = 7;
  message.add(IFLA_STATS64, stats);
  message.open_nest(IFLA_LINKINFO);
  message.add(IFLA_INFO_KIND, std::span<const char>("can", 4));
  message.open_nest(IFLA_INFO_DATA);
  can_bittiming timing{};
  timing.bitrate = 500'000;
  timing.sample_point = 875;
  message.add(IFLA_CAN_BITTIMING, timing);
  message.add(IFLA_CAN_STATE, std::uint32_t{CAN_STATE_ERROR_PASSIVE});
  const can_ctrlmode mode{0, CAN_CTRLMODE_LISTENONLY};
  message.add(IFLA_CAN_CTRLMODE, mode);
  message.add(IFLA_CAN_RESTART_MS, std::uint32_t{100});
  const can_berr_counter errors{3, 130};
  message.add(IFLA_CAN_BERR_COUNTER, errors);
  message.close_nest();
  can_device_stats device{};
  device.bus_off = 4;
  message.add(IFLA_INFO_XSTATS, device);
  message.close_nest();
  const auto bytes = message.bytes();
  std::vector<char> copy(bytes.begin(), bytes.end());
  auto* link = copy.data() + NLMSG_HDRLEN;
  ifinfomsg head{};
  std::memcpy(&head, link, sizeof head);
  head.ifi_type = ARPHRD_CAN;
  head.ifi_flags = IFF_UP;
  std::memcpy(link, &head, sizeof head);
  return copy;
}

}  // namespace

TEST_CASE("a link's description is read with its bit timing, state and counters") {
  const auto link = read_link_message(link_message());
  REQUIRE(link);
  CHECK(link->name == "can0");
  CHECK(link->index == 5);
  CHECK(link->kind == "can");
  CHECK(link->up);
  CHECK(link->listen_only);
  CHECK(link->nominal.bit_rate == 500'000);
  CHECK(link->nominal.sample_point == doctest::Approx(0.875));
  CHECK(link->state == "error passive");
  CHECK(link->restart_ms == 100);
  CHECK(link->transmit_errors == 3);
  CHECK(link->receive_errors == 130);
  CHECK(link->counters.frames == 1234);
  CHECK(link->counters.dropped == 3);
  CHECK(link->counters.overruns == 7);
  CHECK(link->counters.times_bus_off == 4);
  CHECK(describe_link(*link).find("500 kbit/s, sample point 87.5 %") != std::string::npos);
}

TEST_CASE("a description that is cut short anywhere is read as far as it goes, or not at all") {
  const std::vector<char> whole = link_message();
  for (std::size_t size = 0; size < whole.size(); ++size) {
    // A copy of just that size, so that the address sanitizer sees a read beyond it.
    const std::vector<char> part(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(size));
    const auto link = read_link_message(part);
    if (link) CHECK(link->index == 5);
  }
}

TEST_CASE("an attribute whose length runs beyond the message ends the reading") {
  std::vector<char> bytes(8);
  const rtattr liar{2000, IFLA_IFNAME};
  std::memcpy(bytes.data(), &liar, sizeof liar);
  CHECK(netlink::Attributes(bytes).find(IFLA_IFNAME).empty());
  const rtattr nothing{0, IFLA_IFNAME};
  std::memcpy(bytes.data(), &nothing, sizeof nothing);
  CHECK(netlink::Attributes(bytes).find(IFLA_IFNAME).empty());
}

TEST_CASE("an interface that is not there is an error with its name") {
  const auto link = can_link("no-such-can");
  REQUIRE_FALSE(link);
  CHECK(link.error().message.find("there is no interface \"no-such-can\"; ") == 0);
}

}  // namespace foundling
