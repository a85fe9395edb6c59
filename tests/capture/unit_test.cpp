#include "schemas/values/unit.h"

#include <doctest/doctest.h>

#include <array>

namespace foundling {
namespace {

double convert(double value, const char* from, const char* to) {
  const auto conversion = unit_conversion(from, to);
  REQUIRE(conversion.has_value());
  return conversion->value(value);
}

TEST_CASE("every unit of the contract is known under its own name") {
  for (const char* unit : {"V",   "mV",    "A", "mA",    "W",       "kW", "Wh",  "kWh", "Ah",
                           "°C",  "K",     "Ω", "kΩ",    "%",       "Pa", "kPa", "bar", "Hz",
                           "rpm", "l/min", "s", "state", "\u00B5V", "mΩ", "MΩ",  "ms",  "mAh"}) {
    CAPTURE(unit);
    REQUIRE(known_unit(unit).has_value());
    CHECK(*known_unit(unit) == unit);
  }
}

TEST_CASE("common spellings lead to one") {
  CHECK(known_unit("C") == "°C");
  CHECK(known_unit("degC") == "°C");
  CHECK(known_unit("ohm") == "Ω");
  CHECK(known_unit("kohm") == "kΩ");
  CHECK(known_unit("\u2126") == "Ω");  // the ohm sign, beside the Greek letter
  CHECK(known_unit("L/min") == "l/min");
  // The micro sign and the Greek letter mu look alike: either, and what a plain keyboard has.
  CHECK(known_unit("\u03BCV") == "\u00B5V");
  CHECK(known_unit("uV") == "\u00B5V");
  CHECK(known_unit("mohm") == "mΩ");
  CHECK(known_unit("Mohm") == "MΩ");
  CHECK(known_unit("M\u2126") == "MΩ");
  CHECK_FALSE(known_unit("furlong").has_value());
  CHECK_FALSE(known_unit("MV").has_value());  // no unit is guessed from a wrong letter case
}

TEST_CASE("a change of prefix rounds once") {
  CHECK(convert(12345, "mV", "V") == 12.345);
  CHECK(convert(3.3, "V", "mV") == 3300.0);
  CHECK(convert(-7, "mA", "A") == -0.007);
  CHECK(convert(1.5, "kWh", "Wh") == 1500.0);
  CHECK(convert(12345, "\u03BCV", "mV") == 12.345);
  CHECK(convert(750, "uV", "V") == 0.00075);
  CHECK(convert(0.75, "mohm", "ohm") == 0.00075);
  CHECK(convert(2.2, "Mohm", "kohm") == 2200.0);
  CHECK(convert(4700, "ohm", "kohm") == 4.7);
}

TEST_CASE("quantities convert as the SI brochure has them") {
  // BIPM, The International System of Units (SI), 9th edition: 0 °C = 273.15 K (2.3.1).
  CHECK(convert(0, "°C", "K") == 273.15);
  CHECK(convert(273.15, "K", "C") == 0.0);
  // Same brochure, table 8 of the 8th edition: 1 bar = 100 kPa.
  CHECK(convert(1.01325, "bar", "kPa") == doctest::Approx(101.325).epsilon(1e-15));
  CHECK(convert(250, "kPa", "bar") == 2.5);
  CHECK(convert(3000, "rpm", "Hz") == 50.0);
}

TEST_CASE("an uncertainty has no zero point") {
  CHECK(unit_conversion("°C", "K")->uncertainty(0.5) == 0.5);
  CHECK(unit_conversion("mV", "V")->uncertainty(2) == 0.002);
}

TEST_CASE("different quantities and unknown units convert to nothing else") {
  CHECK_FALSE(unit_conversion("V", "A").has_value());
  CHECK_FALSE(unit_conversion("Wh", "Ah").has_value());
  CHECK_FALSE(unit_conversion("furlong", "s").has_value());
  CHECK(unit_conversion("furlong", "furlong")->value(3) == 3.0);
  CHECK(unit_conversion("degC", "C")->value(25.1) == 25.1);
}

}  // namespace
}  // namespace foundling
