// Shunts, thermistors and platinum resistors as one line of text, and what they make of a reading.
#include <doctest/doctest.h>

#include <cmath>

#include "schemas/values/sensor.h"
#include "tests/must.h"

namespace foundling {
namespace {

Sensor sensor(const char* text) { return must(parse_sensor(text)); }

std::string fault(const char* text) {
  const auto made = parse_sensor(text);
  REQUIRE_FALSE(made.ok());
  return made.error().message;
}

TEST_CASE("each kind is read, in the spellings that people use") {
  CHECK(sensor("shunt 100 A / 75 mV") == Sensor{Shunt{100, 0.075}, 0});
  CHECK(sensor("shunt 100A/75mV ± 0.5 %") == Sensor{Shunt{100, 0.075}, 0.005});
  CHECK(sensor("shunt 100A/0.075V +-0.5%") == sensor("shunt 100 A / 75 mV +/- 0.5 %"));
  CHECK(sensor("thermistor b 3435 K r 10 kΩ") == Sensor{ThermistorB{3435, 10000, 25}, 0});
  CHECK(sensor("thermistor b 3435 r 10kohm at 20 °C ± 0.5 °C") ==
        Sensor{ThermistorB{3435, 10000, 20}, 0.5});
  CHECK(sensor("thermistor abc 1.129241e-3 2.341077e-4 8.775468e-8") ==
        Sensor{SteinhartHart{1.129241e-3, 2.341077e-4, 8.775468e-8}, 0});
  CHECK(sensor("thermistor table 25:10000 0:27326 50:4158 ± 0.2 K") ==
        Sensor{ThermistorTable{{{0, 27326}, {25, 10000}, {50, 4158}}}, 0.2});
  CHECK(sensor("pt100") == Sensor{PlatinumResistor{100, PlatinumClass::unstated}, 0});
  CHECK(sensor("pt1000 class B") == Sensor{PlatinumResistor{1000, PlatinumClass::b}, 0});
}

TEST_CASE("a shunt's millivolts are amperes by its rating") {
  const auto read = must(quantity_of(sensor("shunt 100A/75mV"), {0.0125, 1e-5}));
  CHECK(read.value == doctest::Approx(100 * 12.5 / 75));
  CHECK(read.uncertainty == doctest::Approx(1e-5 * 100 / 0.075));
  CHECK(must(quantity_of(sensor("shunt 100A/75mV"), {-0.075, 0})).value == -100);
  CHECK(must(electrical_of(sensor("shunt 100A/75mV"), -50)) == doctest::Approx(-0.0375));
}

TEST_CASE("the uncertainties of meter and sensor add as squares") {
  // GUM 5.1.2: 0.1 A of the meter and 0.5 % of 100 A as a limit, 0.2887 A.
  const auto read = must(quantity_of(sensor("shunt 100A/75mV ± 0.5 %"), {0.075, 0.075e-3}));
  CHECK(read.uncertainty == doctest::Approx(std::sqrt(0.01 + 0.25 / 3)));
  // A slope of -0.39083 Ω/°C at 0 °C (IEC 60751), and class B's 0.3 °C there.
  const auto warm = must(quantity_of(sensor("pt100 class B"), {100, 0.02}));
  CHECK(warm.value == doctest::Approx(0).epsilon(1e-9));
  CHECK(warm.uncertainty == doctest::Approx(std::hypot(0.02 / 0.39083, 0.3 / std::sqrt(3.0))));
}

TEST_CASE("an unknown uncertainty stays unknown") {
  CHECK(std::isnan(
      must(quantity_of(sensor("shunt 100A/75mV ± 1 %"), {1, std::nan("")})).uncertainty));
}

TEST_CASE("resistances are temperatures and back") {
  const Sensor ntc = sensor("thermistor b 3435 K r 10 kΩ");
  CHECK(must(quantity_of(ntc, {10000, 10})).value == doctest::Approx(25));
  // dT/dR = -T^2 / (B R): 298.15^2 / (3435 * 10000) K/Ω.
  CHECK(must(quantity_of(ntc, {10000, 10})).uncertainty ==
        doctest::Approx(10 * 298.15 * 298.15 / (3435 * 10000.0)));
  CHECK(must(electrical_of(ntc, 25)) == doctest::Approx(10000));
  CHECK(electrical_unit(ntc) == "Ω");
  CHECK(quantity_unit(ntc) == "°C");
  CHECK_FALSE(quantity_of(ntc, {0, 0}).ok());
  CHECK_FALSE(electrical_of(sensor("pt100"), 900).ok());
}

TEST_CASE("faults are told with their column") {
  CHECK(fault("diode") ==
        "sensor: expected shunt, thermistor, or pt100, found \"diode\" at column 1");
  CHECK(fault("shunt 100 V / 75 mV") ==
        "sensor: expected a rating like 100 A / 75 mV, found \"100 V / 75 mV\" at column 7");
  CHECK(fault("shunt 100 A") ==
        "sensor: expected / and the millivolts of the rating, found nothing at column 12");
  CHECK(fault("thermistor b 3435 K").find("expected r and a resistance") != std::string::npos);
  CHECK(fault("thermistor x").find("expected b, abc or table") != std::string::npos);
  CHECK(fault("pt100 class C") == "sensor: expected A or B, found \"C\" at column 13");
  CHECK(fault("pt100 ± 1 %").find("a tolerance like 0.5 °C") != std::string::npos);
  CHECK(fault("shunt 0 A / 75 mV") == "sensor: a shunt's rating is above 0 A and 0 V");
  CHECK_FALSE(parse_sensor("").ok());
  CHECK_FALSE(parse_sensor("thermistor table 1:2").ok());
  CHECK_FALSE(parse_sensor("thermistor table 0:5 10:4 20:4.5").ok());
  CHECK_FALSE(parse_sensor("pt100 100").ok());
  CHECK_FALSE(parse_sensor("shunt 100 A / 75 mV ± nan %").ok());
  CHECK_FALSE(parse_sensor("\xff\xfe").ok());
}

}  // namespace
}  // namespace foundling
