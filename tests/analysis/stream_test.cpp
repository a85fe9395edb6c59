// Which frames of a message are looked at.
#include "decoder/analysis/stream.h"

#include <doctest/doctest.h>

#include <functional>
#include <vector>

using namespace foundling;

namespace {

// A hundred frames of two bytes: the first counts, the second is as given for each frame.
std::size_t frames_looked_at(const std::function<int(int)>& second_byte) {
  MessageSeries message;
  message.id = CanId::standard(0x5F0);
  message.length = 2;
  for (int i = 0; i < 100; ++i) {
    message.t_ns.push_back(i * 10'000'000LL);
    message.bytes.push_back(static_cast<std::uint8_t>(i));
    message.bytes.push_back(static_cast<std::uint8_t>(second_byte(i)));
  }
  const std::vector<MessageSeries> messages{message};
  return make_streams(messages, Survey{{MessageSurvey{}}}).at(0).bits.frames();
}

}  // namespace

TEST_CASE("frames at the start whose byte is all ones, and never again, are left out") {
  // All ones for what is not available yet: SAE J1939-71.
  CHECK(frames_looked_at([](int i) { return i < 20 ? 0xFF : i; }) == 80);
  CHECK(frames_looked_at([](int i) { return i < 40 ? 0xFF : i; }) == 100);  // no start-up
}

TEST_CASE("a byte that is all ones now and again tells nothing about the start") {
  // A state, or the upper byte of a number about zero: the frames are good.
  CHECK(frames_looked_at([](int i) { return i < 20 || i % 10 == 0 ? 0xFF : 0x3F; }) == 100);
  CHECK(frames_looked_at([](int i) { return i < 20 || i == 50 ? 0xFF : i; }) == 80);
}
