// Expected meanings: Linux kernel documentation networking/can.rst and the header linux/can/error.h
// of Linux 6.1. The numbers are written out here, not taken from the header, so that a wrong use of
// its names would show.
#include "daemon/error_frame.h"

#include <doctest/doctest.h>

#include <array>
#include <string>

namespace foundling {
namespace {

using Bytes = std::array<std::uint8_t, 8>;

ErrorReport report(std::uint32_t classes, const Bytes& data) {
  return describe_error_frame({0x20000000U | classes}, data);
}

}  // namespace

TEST_CASE("each class of error frame is said in words") {
  struct Row {
    std::uint32_t classes;
    Bytes data;
    std::string_view kind;
    std::string_view detail;
  };
  const Row rows[] = {
      {0x001, {}, "error-frame", "transmit time-out"},
      {0x002, {}, "error-frame", "lost arbitration"},
      {0x002, {11}, "error-frame", "lost arbitration at bit 11"},
      {0x004, {0, 0x01}, "error-frame", "controller: receive buffer overran"},
      {0x004, {0, 0x02}, "error-frame", "controller: transmit buffer overran"},
      {0x004, {0, 0x04}, "state", "controller: receive errors reached the warning level"},
      {0x004, {0, 0x08}, "state", "controller: transmit errors reached the warning level"},
      {0x004, {0, 0x10}, "state", "controller: error passive by receive errors"},
      {0x004, {0, 0x20}, "state", "controller: error passive by transmit errors"},
      {0x004, {0, 0x40}, "state", "controller: back to error active"},
      {0x004, {0, 0}, "error-frame", "controller: unspecified"},
      {0x008, {0, 0, 0x01}, "error-frame", "protocol violation: single bit error"},
      {0x008,
       {0, 0, 0x02, 0x18},
       "error-frame",
       "protocol violation: form error at the CRC delimiter"},
      {0x008, {0, 0, 0x04, 0x0A}, "error-frame", "protocol violation: stuff error at the data"},
      {0x008,
       {0, 0, 0x08, 0x03},
       "error-frame",
       "protocol violation: could not send a dominant bit at the start of frame"},
      {0x008,
       {0, 0, 0x10, 0x1B},
       "error-frame",
       "protocol violation: could not send a recessive bit at the acknowledge delimiter"},
      {0x008,
       {0, 0, 0x20, 0x12},
       "error-frame",
       "protocol violation: bus overload at the intermission"},
      {0x008,
       {0, 0, 0x40, 0x1A},
       "error-frame",
       "protocol violation: active error announcement at the end of frame"},
      {0x008,
       {0, 0, 0x81, 0x08},
       "error-frame",
       "protocol violation: single bit error, while transmitting at the CRC sequence"},
      {0x008,
       {0, 0, 0x00, 0x19},
       "error-frame",
       "protocol violation: unspecified at the acknowledge slot"},
      {0x010, {0, 0, 0, 0, 0x04}, "error-frame", "transceiver: CAN high: no wire"},
      {0x010, {0, 0, 0, 0, 0x05}, "error-frame", "transceiver: CAN high: short to battery"},
      {0x010, {0, 0, 0, 0, 0x06}, "error-frame", "transceiver: CAN high: short to supply"},
      {0x010, {0, 0, 0, 0, 0x07}, "error-frame", "transceiver: CAN high: short to ground"},
      {0x010, {0, 0, 0, 0, 0x40}, "error-frame", "transceiver: CAN low: no wire"},
      {0x010,
       {0, 0, 0, 0, 0x57},
       "error-frame",
       "transceiver: CAN high: short to ground, CAN low: short to battery"},
      {0x010, {0, 0, 0, 0, 0x60}, "error-frame", "transceiver: CAN low: short to supply"},
      {0x010, {0, 0, 0, 0, 0x70}, "error-frame", "transceiver: CAN low: short to ground"},
      {0x010, {0, 0, 0, 0, 0x80}, "error-frame", "transceiver: CAN low: short to CAN high"},
      {0x020, {}, "error-frame", "no acknowledge"},
      {0x040, {}, "state", "bus off: the controller has left the bus"},
      {0x080, {}, "error-frame", "bus error"},
      {0x100, {}, "state", "the controller was restarted"},
      {0x200, {0, 0, 0, 0, 0, 0, 128, 7}, "error-frame", "error counters: transmit 128, receive 7"},
      {0x000, {}, "error-frame", "an error of no known class"},
  };
  for (const Row& row : rows) {
    const ErrorReport said = report(row.classes, row.data);
    CHECK(said.kind == row.kind);
    CHECK(said.detail == row.detail);
  }
}

TEST_CASE("several classes in one frame are all said") {
  // A sender that nobody acknowledges, as an SJA1000 driver reports it with counters.
  const ErrorReport said = report(0x2A4, {0, 0x20, 0, 0, 0, 0, 128, 0});
  CHECK(said.kind == "state");
  CHECK(said.detail ==
        "controller: error passive by transmit errors; no acknowledge; bus error; "
        "error counters: transmit 128, receive 0");
}

TEST_CASE("only a receive overrun of the controller means lost frames") {
  // 0x20000204 with data[1] = 1 was seen from an emulated SJA1000 under unpaced bursts.
  CHECK(report(0x204, {0, 0x01}).frames_lost);
  CHECK_FALSE(report(0x204, {0, 0x02}).frames_lost);
  CHECK_FALSE(report(0x008, {0, 0x01}).frames_lost);
}

TEST_CASE("an error frame cut short is read as if zeros followed") {
  const std::array<std::uint8_t, 1> one{3};
  CHECK(describe_error_frame({0x20000002U}, one).detail == "lost arbitration at bit 3");
  CHECK(describe_error_frame({0x20000004U}, {}).detail == "controller: unspecified");
}

}  // namespace foundling
