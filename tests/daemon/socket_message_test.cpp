// Layout of can_frame and canfd_frame: Linux kernel documentation networking/can.rst (offsets and
// sizes written out here); ancillary data: socket(7), cmsg(3).
#include "daemon/socket_message.h"

#include <doctest/doctest.h>
#include <sys/socket.h>

#include <array>
#include <cstring>
#include <ctime>

namespace foundling {
namespace {

struct Message {
  std::array<std::uint8_t, 72> bytes{};
  alignas(cmsghdr) std::array<unsigned char, 128> control{};
  iovec piece{bytes.data(), bytes.size()};
  msghdr header{};

  Message() {
    header.msg_iov = &piece;
    header.msg_iovlen = 1;
  }
  template <typename T>
  void attach(int type, const T& value) {
    auto* place = reinterpret_cast<cmsghdr*>(control.data() + header.msg_controllen);
    place->cmsg_level = SOL_SOCKET;
    place->cmsg_type = type;
    place->cmsg_len = CMSG_LEN(sizeof value);
    std::memcpy(CMSG_DATA(place), &value, sizeof value);
    header.msg_control = control.data();
    header.msg_controllen += CMSG_SPACE(sizeof value);
  }
  void set_id(std::uint32_t id) { std::memcpy(bytes.data(), &id, sizeof id); }
};

}  // namespace

TEST_CASE("a classical frame of 16 bytes") {
  Message message;
  message.set_id(0x98FEF100U);
  message.bytes[4] = 3;
  message.bytes[8] = 0xAA;
  message.bytes[10] = 0xCC;
  message.bytes[11] = 0xDD;  // beyond the length
  const auto arrival = read_message(message.header, 16);
  REQUIRE(arrival);
  CHECK(arrival->frame.id == CanId::extended(0x18FEF100));
  CHECK(arrival->frame.length == 3);
  CHECK(arrival->frame.flags == 0);
  CHECK(arrival->frame.payload[0] == 0xAA);
  CHECK(arrival->frame.payload[2] == 0xCC);
  CHECK(arrival->frame.payload[3] == 0);
  CHECK(arrival->wall_ns == 0);
  CHECK_FALSE(arrival->drops);
}

TEST_CASE("an FD frame of 72 bytes is marked FD, and keeps its bit rate switch") {
  Message message;
  message.set_id(0x123);
  message.bytes[4] = 64;
  message.bytes[5] = 0x01;
  message.bytes[71] = 0x77;
  const auto arrival = read_message(message.header, 72);
  REQUIRE(arrival);
  CHECK(arrival->frame.length == 64);
  CHECK(arrival->frame.flags == 0x05);
  CHECK(arrival->frame.payload[63] == 0x77);
}

TEST_CASE("the kernel's stamp and drop counter come along") {
  Message message;
  message.attach(SCM_TIMESTAMPNS, timespec{1'700'000'000, 123'456'789});
  message.attach(SO_RXQ_OVFL, std::uint32_t{42});
  const auto arrival = read_message(message.header, 16);
  REQUIRE(arrival);
  CHECK(arrival->wall_ns == 1'700'000'000'123'456'789);
  CHECK(arrival->drops == 42U);
}

TEST_CASE("a length beyond the format is cut, another size is no frame") {
  Message message;
  message.bytes[4] = 200;
  CHECK(read_message(message.header, 16)->frame.length == 8);
  CHECK(read_message(message.header, 72)->frame.length == 64);
  CHECK_FALSE(read_message(message.header, 15));
  CHECK_FALSE(read_message(message.header, 0));
}

}  // namespace foundling
