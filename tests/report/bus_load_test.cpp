#include "decoder/report/bus_load.h"

#include <doctest/doctest.h>

#include <array>

using namespace foundling;

// R. I. Davis et al., Real-Time Systems 35 (2007) 239-272: (55 + 10 n) and (80 + 10 n) bits at
// worst; the unstuffed 47 + 8 n and 67 + 8 n are also in the Linux kernel's
// include/linux/can/length.h.
TEST_CASE("frame lengths are those of the published formula for every payload") {
  constexpr std::array<int, 9> standard{47, 55, 63, 71, 79, 87, 95, 103, 111};
  constexpr std::array<int, 9> standard_worst{55, 65, 75, 85, 95, 105, 115, 125, 135};
  constexpr std::array<int, 9> extended{67, 75, 83, 91, 99, 107, 115, 123, 131};
  constexpr std::array<int, 9> extended_worst{80, 90, 100, 110, 120, 130, 140, 150, 160};
  for (std::size_t n = 0; n <= 8; ++n) {
    CAPTURE(n);
    const auto bytes = static_cast<int>(n);
    CHECK(frame_bits(false, bytes).unstuffed == standard[n]);
    CHECK(frame_bits(false, bytes).worst_case == standard_worst[n]);
    CHECK(frame_bits(true, bytes).unstuffed == extended[n]);
    CHECK(frame_bits(true, bytes).worst_case == extended_worst[n]);
  }
}

TEST_CASE("a bus filled back to back is full: 4504.5 eight-byte frames a second at 500 kbit/s") {
  Survey survey;
  MessageSurvey message;
  message.id = CanId::standard(0x123);
  message.length = 8;
  message.frames = 45045;
  survey.messages.push_back(message);
  const auto load = bus_load(survey, 0, 10, 500'000);
  REQUIRE(load.has_value());
  CHECK(load->least == doctest::Approx(1).epsilon(1e-4));
  CHECK(load->most == doctest::Approx(135.0 / 111).epsilon(1e-4));
}

TEST_CASE("without a bit rate there is no load to give") {
  CHECK_FALSE(bus_load(Survey{}, 0, 10, 0).has_value());
}

TEST_CASE("each bus has its own load, and frames of more than eight bytes are left out") {
  Survey survey;
  for (const std::uint8_t bus : {std::uint8_t{0}, std::uint8_t{1}}) {
    for (const int length : {8, 64}) {
      MessageSurvey message;
      message.bus = bus;
      message.id = CanId::extended(0x100);
      message.length = bus == 0 ? 8 : length;
      message.frames = 1000;
      survey.messages.push_back(message);
    }
  }
  const auto first = bus_load(survey, 0, 1, 1'000'000);
  const auto second = bus_load(survey, 1, 1, 1'000'000);
  REQUIRE(first.has_value());
  REQUIRE(second.has_value());
  CHECK(first->least == doctest::Approx(0.262));  // two messages of 131 bits
  CHECK(first->most == doctest::Approx(0.32));
  CHECK_FALSE(first->without_fd);
  CHECK(second->most == doctest::Approx(0.16));
  CHECK(second->without_fd);
}
