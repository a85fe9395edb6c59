// Published values of SAE J1939-71 through a map written by hand.
#include <doctest/doctest.h>

#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "decoder/decode/decode.h"
#include "schemas/signals/format.h"
#include "schemas/signals/read.h"

using namespace foundling;

namespace {

// Scalings and ranges: SAE J1939-71 (SPN 190 engine speed, 110 coolant temperature, 175 oil
// temperature, 91 pedal position, 168 battery potential, 114 net battery current), its table of
// transmitted signal ranges for the reserved codes; the 0.05 A/bit current is also in RV-C,
// table 5.3.
const std::string map_text = R"(foundling signals 1

message 0CF00400 extended length 8
  signal engine_speed
    bits 4.7..3.0
    value = raw * 0.125 rpm
    reserved 0xFB00..0xFBFF indicator
    reserved 0xFC00..0xFDFF reserved
    reserved 0xFE00..0xFEFF error
    reserved 0xFF00..0xFFFF not-available

message 18FEEE00 extended length 8
  signal coolant_temperature
    bits 0.7..0.0
    value = raw - 40 °C
    reserved 0xFB indicator
    reserved 0xFC..0xFD reserved
    reserved 0xFE error
    reserved 0xFF not-available
  signal oil_temperature
    bits 3.7..2.0
    value = raw * 0.03125 - 273 °C
    reserved 0xFB00..0xFBFF indicator
    reserved 0xFC00..0xFDFF reserved
    reserved 0xFE00..0xFEFF error
    reserved 0xFF00..0xFFFF not-available

message 18FEF700 extended length 8
  signal net_battery_current
    bits 0.7..0.0
    value = raw - 125 A
    reserved 0xFB..0xFF not-valid
  signal battery_potential
    bits 5.7..4.0
    value = raw * 0.05 V
    reserved 0xFB00..0xFFFF not-valid
  signal fast_current
    bits 7.7..6.0
    value = raw * 0.05 - 1600 A
    reserved 0xFB00..0xFFFF not-valid

message 18F00300 extended length 8
  signal pedal_position
    bits 1.7..1.0
    value = raw * 0.4 %
  signal precise_current
    bits 7.7..4.0
    value = raw * 0.001 - 2000000 A
  signal brake_switch
    bits 0.1..0.0
    state 0 = off
    state 1 = on
    reserved 2 error
    reserved 3 not-available
)";

Decoder decoder_of_map() {
  const SignalText read = read_signals(map_text);
  REQUIRE_MESSAGE(read.ok(), describe(read.diagnostics, "j1939", map_text));
  return Decoder(read.map);
}

// The one value of that signal in a frame.
DecodedValue decoded(Decoder& decoder, std::uint32_t id, const std::vector<std::uint8_t>& payload,
                     const std::string& signal) {
  for (const DecodedValue& value : decoder.decode(0, CanId::extended(id), 0, payload)) {
    if (decoder.fields()[value.field].name == signal) return value;
  }
  FAIL("no value of " << signal);
  return {};
}

struct Published {
  std::uint32_t id;
  std::vector<std::uint8_t> payload;
  std::string signal;
  double value;
};

std::vector<std::uint8_t> at(std::size_t byte, std::uint64_t raw, int bytes) {
  std::vector<std::uint8_t> payload(8, 0);
  for (int i = 0; i < bytes; ++i) {
    payload[byte + static_cast<std::size_t>(i)] = static_cast<std::uint8_t>(raw >> (8 * i));
  }
  return payload;
}

}  // namespace

TEST_CASE("published scalings of SAE J1939-71 and RV-C decode to the published values") {
  Decoder decoder = decoder_of_map();
  const std::vector<Published> values{
      {0x0CF00400, {0, 0, 0, 0x20, 0x4E, 0, 0, 0}, "engine_speed", 2500},
      {0x0CF00400, at(3, 0x1368, 2), "engine_speed", 621},
      {0x0CF00400, at(3, 0xFAFF, 2), "engine_speed", 8031.875},
      {0x18FEEE00, at(0, 130, 1), "coolant_temperature", 90},
      {0x18FEEE00, at(0, 0, 1), "coolant_temperature", -40},
      {0x18FEEE00, at(0, 250, 1), "coolant_temperature", 210},
      {0x18FEEE00, at(2, 0xFAFF, 2), "oil_temperature", 1734.96875},
      {0x18FEEE00, at(2, 0x2220, 2), "oil_temperature", 0},
      {0x18FEEE00, at(2, 0x2540, 2), "oil_temperature", 25},
      {0x18FEEE00, at(2, 0x1D20, 2), "oil_temperature", -40},
      {0x18F00300, at(1, 250, 1), "pedal_position", 100},
      {0x18F00300, at(1, 125, 1), "pedal_position", 50},
      {0x18FEF700, at(4, 0x0115, 2), "battery_potential", 13.85},
      {0x18FEF700, at(4, 0xFAFF, 2), "battery_potential", 3212.75},
      {0x18FEF700, at(0, 0, 1), "net_battery_current", -125},
      {0x18FEF700, at(0, 250, 1), "net_battery_current", 125},
      {0x18FEF700, at(6, 0x7E54, 2), "fast_current", 17},
      {0x18FEF700, at(6, 0x7D00, 2), "fast_current", 0},
      {0x18FEF700, at(6, 0xFAFF, 2), "fast_current", 1612.75},
      {0x18F00300, at(4, 0x77359400, 4), "precise_current", 0},
  };
  for (const Published& published : values) {
    CAPTURE(published.signal);
    const DecodedValue value = decoded(decoder, published.id, published.payload, published.signal);
    CHECK(value.kind == ValueKind::number);
    CHECK(value.number == published.value);  // the double nearest to the published decimal
  }
}

TEST_CASE("codes above the valid range of SAE J1939-71 are never numbers") {
  Decoder decoder = decoder_of_map();
  const auto word_1 = [](unsigned code) {
    return code == 0xFB   ? "indicator"
           : code <= 0xFD ? "reserved"
           : code == 0xFE ? "error"
                          : "not-available";
  };
  for (unsigned code = 0; code <= 0xFF; ++code) {
    CAPTURE(code);
    const DecodedValue value = decoded(decoder, 0x18FEEE00, at(0, code, 1), "coolant_temperature");
    CHECK((value.kind == ValueKind::number) == (code <= 0xFA));
    if (code > 0xFA) CHECK(value.word == word_1(code));
  }
  for (unsigned code = 0; code <= 0xFFFF; ++code) {
    const DecodedValue value = decoded(decoder, 0x0CF00400, at(3, code, 2), "engine_speed");
    REQUIRE((value.kind == ValueKind::number) == (code <= 0xFAFF));
    if (code > 0xFAFF) REQUIRE(value.word == word_1(code >> 8U));
  }
}

TEST_CASE("two-bit states of SAE J1939-71: off, on, error, not available") {
  Decoder decoder = decoder_of_map();
  CHECK(decoded(decoder, 0x18F00300, at(0, 0, 1), "brake_switch").word == "off");
  CHECK(decoded(decoder, 0x18F00300, at(0, 1, 1), "brake_switch").word == "on");
  const DecodedValue error = decoded(decoder, 0x18F00300, at(0, 2, 1), "brake_switch");
  CHECK(error.kind == ValueKind::reserved);
  CHECK(error.word == "error");
  CHECK(decoded(decoder, 0x18F00300, at(0, 3, 1), "brake_switch").word == "not-available");
}

namespace {

std::string battery_map() {
  std::ifstream file(FOUNDLING_SOURCE_DIR "/tests/decode/j1939_battery.signals", std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace

TEST_CASE("a battery message's map written by hand from the format page decodes published values") {
  const std::string text = battery_map();
  const SignalText read = read_signals(text);
  REQUIRE_MESSAGE(read.diagnostics.empty(), describe(read.diagnostics, "battery", text));
  CHECK(format(read.document) == text);
  Decoder decoder(read.map);
  // SPN 114 and 168: scale, offset and range as in SAE J1939-71; 0xFAFF is the top of the range.
  const std::vector<Published> values{
      {0x18FEF700, at(0, 0, 1), "net_battery_current", -125},
      {0x18FEF700, at(0, 125, 1), "net_battery_current", 0},
      {0x18FEF700, at(0, 250, 1), "net_battery_current", 125},
      {0x18FEF700, at(4, 0x0115, 2), "battery_potential", 13.85},
      {0x18FEF700, at(4, 0xFAFF, 2), "battery_potential", 3212.75},
  };
  for (const Published& published : values) {
    CAPTURE(published.signal);
    const DecodedValue value = decoded(decoder, published.id, published.payload, published.signal);
    CHECK(value.kind == ValueKind::number);
    CHECK(value.number == published.value);  // the double nearest to the published decimal
  }
  // The table of transmitted signal ranges: a frame of all ones says that nothing is available.
  const std::vector<std::uint8_t> ones(8, 0xFF);
  const auto none = decoder.decode(0, CanId::extended(0x18FEF700), 0, ones);
  REQUIRE(none.size() == 5);
  for (const DecodedValue& value : none) CHECK(value.word == "not-available");
}
