// A reading as typed.
#include "tools/exchange/stimulus_entry.h"

#include <doctest/doctest.h>

#include <cmath>

#include "tests/must.h"
#include "tools/exchange/number_text.h"

namespace foundling {
namespace {

StimulusEntry entry(const char* value, std::optional<std::string> unit = {},
                    std::optional<Channel> known = {}) {
  return must(stimulus_entry({"pack_current", value, std::move(unit), {}, {}}, known));
}

std::string fault(const char* value, std::optional<std::string> unit = {},
                  std::optional<Channel> known = {}) {
  const auto made = stimulus_entry({"pack_current", value, std::move(unit), {}, {}}, known);
  REQUIRE_FALSE(made.ok());
  return made.error().message;
}

const Channel in_ampere{"pack_current", "A", ChannelKind::hold};
const Channel of_words{"interlock", "state", ChannelKind::hold};

TEST_CASE("a value is typed with its unit, beside it, or in the channel's own") {
  CHECK(entry("12.5A").reading.value == 12.5);
  CHECK(entry("12.5A").channel.unit == "A");
  CHECK(entry("12.5 A").channel.unit == "A");
  CHECK(entry("-3", "mA").channel.unit == "mA");
  CHECK(entry("25degC").channel.unit == "°C");
  CHECK(entry("1.5e3Ω").reading.value == 1500);
  CHECK(entry("12500mA", {}, in_ampere).reading.value == 12.5);
  CHECK(entry("12.5", {}, in_ampere).reading.value == 12.5);
  CHECK(std::isnan(entry("12.5A").reading.uncertainty));
}

TEST_CASE("a word makes a state") {
  CHECK(entry("closed").channel.is_state());
  CHECK(entry("closed").reading.state == "closed");
  CHECK(entry("1", "state").reading.state == "1");
  CHECK(entry("1", {}, of_words).reading.state == "1");
}

TEST_CASE("an uncertainty is in the unit as typed") {
  const auto made = must(stimulus_entry({"pack_current", "12500", "mA", 20.0, {}}, in_ampere));
  CHECK(made.reading.uncertainty == 0.02);
}

TypedReading measured(const char* value, const char* sensor, const char* meter) {
  TypedReading typed{"pack_current", value, {}, {}, {}};
  if (*sensor != 0) typed.sensor = must(parse_sensor(sensor));
  if (*meter != 0) typed.meter = must(parse_meter_specification(meter));
  return typed;
}

TEST_CASE("a meter's specification makes the uncertainty, its digits those that were typed") {
  // 0.05 % of 12.50 A and two digits of 10 mA are a limit of 26.25 mA (GUM 4.3.7).
  const auto made = must(stimulus_entry(measured("12.50A", "", "0.05% + 2 digits"), {}));
  CHECK(made.reading.uncertainty == doctest::Approx(0.02625 / std::sqrt(3.0)));
  auto finer = measured("12.5A", "", "0.05% + 2 digits");
  finer.resolution = "10mA";
  CHECK(must(stimulus_entry(finer, {})).reading.uncertainty == made.reading.uncertainty);
  auto ranged = measured("12.5A", "", "0.1% of range");
  ranged.range = "20A";
  CHECK(must(stimulus_entry(ranged, {})).reading.uncertainty ==
        doctest::Approx(0.02 / std::sqrt(3.0)));
  // In the unit as typed, then converted with the value.
  const auto milli = must(stimulus_entry(measured("12500mA", "", "1%"), in_ampere));
  CHECK(milli.reading.uncertainty == doctest::Approx(0.125 / std::sqrt(3.0)));
}

TEST_CASE("a shunt's millivolts become the channel's amperes") {
  const auto made =
      must(stimulus_entry(measured("12.50 mV", "shunt 100 A / 75 mV", "0.05% + 2 digits"), {}));
  CHECK(made.channel.unit == "A");
  CHECK(made.reading.value == doctest::Approx(16.666666667));
  CHECK(made.reading.uncertainty == doctest::Approx(0.02625 / std::sqrt(3.0) * 100 / 75));
  CHECK(std::isnan(must(stimulus_entry(measured("12.50mV", "shunt 100 A / 75 mV", ""), in_ampere))
                       .reading.uncertainty));
}

TEST_CASE("ohms become the channel's degrees, or kelvins") {
  auto typed = measured("10kohm", "thermistor b 3435 K r 10 kohm", "");
  typed.channel = "temp_1";
  CHECK(must(stimulus_entry(typed, {})).channel.unit == "°C");
  CHECK(must(stimulus_entry(typed, {})).reading.value == doctest::Approx(25));
  const Channel in_kelvin{"temp_1", "K", ChannelKind::hold};
  CHECK(must(stimulus_entry(typed, in_kelvin)).reading.value == doctest::Approx(298.15));
}

TEST_CASE("a meter or a sensor that does not fit is refused") {
  const auto fault_of = [](const TypedReading& typed, std::optional<Channel> known = {}) {
    const auto made = stimulus_entry(typed, known);
    REQUIRE_FALSE(made.ok());
    return made.error().message;
  };
  CHECK(fault_of(measured("12.5A", "shunt 100 A / 75 mV", "")) ==
        "the sensor is read in V, not in A");
  CHECK(fault_of(measured("12.5", "shunt 100 A / 75 mV", ""), in_ampere) ==
        "with a sensor the value needs the unit that the meter shows: V");
  CHECK(fault_of(measured("12.5mV", "shunt 100 A / 75 mV", ""),
                 Channel{"pack_current", "V", ChannelKind::hold}) ==
        "channel pack_current is in V, not in A");
  CHECK(fault_of(measured("0ohm", "pt100", "")).find("outside a platinum resistor's curve") !=
        std::string::npos);
  auto both = measured("1A", "", "1%");
  both.uncertainty = 0.1;
  CHECK(fault_of(both).find("only one of them") != std::string::npos);
  auto alone = measured("1A", "", "");
  alone.range = "20A";
  CHECK(fault_of(alone).find("without the meter's specification") != std::string::npos);
  auto odd = measured("1A", "", "1% of range");
  odd.range = "20V";
  CHECK(fault_of(odd) == "expected the meter's range in A, found \"20V\"");
  CHECK(fault_of(measured("open", "", "1%")) == "a state has no uncertainty");
}

TEST_CASE("an unknown unit is kept and said") {
  CHECK(entry("3furlong").channel.unit == "furlong");
  CHECK(entry("3furlong").remarks.size() == 1);
}

TEST_CASE("what follows a number that is written in another way is no unit") {
  for (const char* const text : {"12,5A", "12..5A", "1,234.5 V", "12-A"}) {
    CAPTURE(text);
    CHECK(fault(text).find("expected a number like 12.5 and its unit, found") == 0);
  }
  CHECK(fault("12", ",5A").find("found \"12 ,5A\"; decimals are written with a point") !=
        std::string::npos);
  CHECK(fault("12,5A", {}, in_ampere).find("decimals are written with a point") !=
        std::string::npos);
}

TEST_CASE("a number is shown as it was set, without what rounding put behind it") {
  CHECK(shown_number(34.800000000000004) == "34.8");
  CHECK(shown_number(34.8) == "34.8");
  CHECK(shown_number(0.1 + 0.2) == "0.3");
  CHECK(shown_number(-40) == "-40");
  CHECK(shown_number(123456789.012345) == "123456789.012345");
  CHECK(shown_number(1e-300) == "1e-300");
  CHECK(shown_number(100.0 / 6) == "16.6666666666667");
}

TEST_CASE("what does not fit is refused") {
  CHECK(fault("12.5") ==
        "channel pack_current is new: its unit is missing (write `state` for a word like 0 or 1)");
  CHECK(fault("12.5V", {}, in_ampere) == "channel pack_current is in A, not in V");
  CHECK(fault("open", {}, in_ampere) == "expected a number, found \"open\"");
  CHECK(fault("12.5A", "V") == "two units: \"A\" and \"V\"");
  CHECK(fault("1", "A", of_words) == "channel interlock takes words, not A");
  CHECK(fault("nan", "A") == "expected a number, found \"nan\"");
  CHECK_FALSE(stimulus_entry({"pack current", "1A", {}, {}, {}}, {}).ok());
  CHECK_FALSE(stimulus_entry({"pack_current", "1A", {}, -1.0, {}}, {}).ok());
  CHECK_FALSE(stimulus_entry({"pack_current", "1A", {}, HUGE_VAL, {}}, {}).ok());  // from "1e400"
  CHECK_FALSE(stimulus_entry({"pack_current", "1A", {}, {}, ChannelKind::sample}, in_ampere).ok());
}

}  // namespace
}  // namespace foundling
