// What the codes for numbers say, byte for byte. The codes themselves are common practice (no
// source); the float is a worked value of IEEE 754-2019 binary32 (123.456 is 42F6E979, by Python's
// struct).
#include <doctest/doctest.h>

#include <array>
#include <string>
#include <vector>

#include "decoder/decode/decode.h"
#include "schemas/signals/read.h"

using namespace foundling;

namespace {

// The value of one field over all of a payload, as text.
std::string decoded(const std::string& bits, const std::vector<std::uint8_t>& payload) {
  const SignalText reading = read_signals(
      "foundling signals 1\n\nmessage 1A4 length 8\n  signal value\n    bits " + bits + "\n");
  REQUIRE(reading.ok());
  Decoder decoder(reading.map);
  const auto values = decoder.decode(0, CanId::standard(0x1A4), 0, payload);
  REQUIRE(values.size() == 1);
  if (values[0].kind != ValueKind::number) return std::string(values[0].word);
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.6g", values[0].number);
  return text.data();
}

}  // namespace

TEST_CASE("the top bit of a sign and a magnitude says minus, and minus zero is zero") {
  CHECK(decoded("0.7..1.0 sign-magnitude", {0x00, 0x64}) == "100");
  CHECK(decoded("0.7..1.0 sign-magnitude", {0x80, 0x64}) == "-100");
  CHECK(decoded("0.7..1.0 sign-magnitude", {0x80, 0x00}) == "0");
  CHECK(decoded("1.7..0.0 sign-magnitude", {0x64, 0x80}) == "-100");
  CHECK(decoded("0.3..0.0 sign-magnitude", {0x0F}) == "-7");
}

TEST_CASE("a one's complement has all bits turned over, and two zeros") {
  CHECK(decoded("0.7..0.0 ones-complement", {0x01}) == "1");
  CHECK(decoded("0.7..0.0 ones-complement", {0xFE}) == "-1");
  CHECK(decoded("0.7..0.0 ones-complement", {0xFF}) == "0");
  CHECK(decoded("0.7..0.0 ones-complement", {0x80}) == "-127");
}

TEST_CASE("digits of four bits are a decimal number, and a digit above nine is none") {
  CHECK(decoded("0.7..1.0 bcd", {0x12, 0x34}) == "1234");
  CHECK(decoded("1.7..0.0 bcd", {0x34, 0x12}) == "1234");
  CHECK(decoded("0.3..1.0 bcd", {0xF2, 0x09}) == "209");
  CHECK(decoded("0.7..1.0 bcd", {0x12, 0xA4}) == "not-a-number");
}

TEST_CASE("words that are swapped are put right before they are a number") {
  CHECK(decoded("0.7..3.0 swapped", {0x00, 0x02, 0x00, 0x01}) == "65538");
  CHECK(decoded("0.7..3.0 signed swapped", {0xFF, 0xFE, 0xFF, 0xFF}) == "-2");
  CHECK(decoded("0.7..3.0 float swapped", {0xE9, 0x79, 0x42, 0xF6}) == "123.456");
  CHECK(decoded("3.7..0.0 swapped", {0x01, 0x00, 0x02, 0x00}) == "65538");
}
