// Meters' specifications as data sheets print them, and what they make of a reading.
#include "schemas/values/meter_specification.h"

#include <doctest/doctest.h>

#include <cmath>

#include "tests/must.h"

namespace foundling {
namespace {

MeterSpecification meter(const char* text) { return must(parse_meter_specification(text)); }

std::string fault(const char* text) {
  const auto made = parse_meter_specification(text);
  REQUIRE_FALSE(made.ok());
  return made.error().message;
}

TEST_CASE("terms are read as data sheets write them") {
  CHECK(meter("0.05% + 2 digits") == meter("±0.05 % rdg + 2dgt"));
  CHECK(meter("0.05%+2counts") == meter("500 ppm of reading + 2 d"));
  CHECK(meter("0.05% + 2 digits").of_reading == doctest::Approx(0.0005));
  CHECK(meter("0.05% + 2 digits").digits == 2);
  const auto long_one = meter("35ppm of reading + 0.001 % of range + 0.5 mV, k = 2");
  CHECK(long_one.of_reading == doctest::Approx(35e-6));
  CHECK(long_one.of_range == doctest::Approx(1e-5));
  CHECK(long_one.fixed == 0.5);
  CHECK(long_one.fixed_unit == "mV");
  CHECK(long_one.coverage == 2);
  CHECK(meter("0.1 % of range").of_reading == 0);
}

TEST_CASE("a limit is a rectangular distribution's half width") {
  // GUM (JCGM 100:2008) 4.3.7, equation 7: u^2 = a^2 / 3.
  // 0.05 % of 12.50 V and two digits of 10 mV: 6.25 mV + 20 mV = 26.25 mV.
  const double u = must(standard_uncertainty(meter("0.05% + 2 digits"), 12.5, {{}, 0.01, "V"}));
  CHECK(u == doctest::Approx(0.02625 / std::sqrt(3.0)));
  CHECK(u * u == doctest::Approx(0.02625 * 0.02625 / 3));
  // The sign of the reading does not matter.
  CHECK(must(standard_uncertainty(meter("0.05% + 2 digits"), -12.5, {{}, 0.01, "V"})) == u);
}

TEST_CASE("a term of the range and a fixed term") {
  const auto spec = meter("0.02% + 0.01% of range + 1 mV");
  CHECK(must(standard_uncertainty(spec, 5, {20.0, {}, "V"})) ==
        doctest::Approx((0.001 + 0.002 + 0.001) / std::sqrt(3.0)));
  CHECK(must(standard_uncertainty(spec, 5000, {20000.0, {}, "mV"})) ==
        doctest::Approx((1 + 2 + 1) / std::sqrt(3.0)));
}

TEST_CASE("a coverage factor or a level of confidence divides instead") {
  CHECK(must(standard_uncertainty(meter("1%, k = 2"), 10, {{}, {}, "A"})) == doctest::Approx(0.05));
  // NIST/SEMATECH e-Handbook 1.3.6.7.1: 1.960 leaves 2.5 % on each side, 2.576 leaves 0.5 %.
  CHECK(meter("1%, 95 %").coverage.value() == doctest::Approx(1.960).epsilon(3e-4));
  CHECK(meter("1%, 99 %").coverage.value() == doctest::Approx(2.576).epsilon(2e-4));
}

TEST_CASE("what a term needs and is not told is asked for") {
  CHECK(standard_uncertainty(meter("2 digits"), 1, {{}, {}, "V"}).error().message ==
        "the meter's specification needs the resolution: what the last digit is worth");
  CHECK(standard_uncertainty(meter("1 % of range"), 1, {{}, {}, "V"}).error().message ==
        "the meter's specification needs the range it was set to");
  CHECK(standard_uncertainty(meter("1 % + 1 mV"), 1, {{}, {}, "A"}).error().message ==
        "the meter's specification has a term in mV, and the reading is in A");
}

TEST_CASE("faults are told with their column") {
  CHECK(fault("") == "meter specification: expected a number like 0.05, found nothing at column 1");
  CHECK(fault("0.05% + two digits") ==
        "meter specification: expected a number like 0.05, found \"two digits\" at column 9");
  CHECK(fault("0.05% + 2 furlong") ==
        "meter specification: expected %, ppm, digits, or a unit, found \"furlong\" at column 11");
  CHECK(fault("0.05% of scale").find("'of reading' or 'of range', found \"scale\" at column 10") !=
        std::string::npos);
  CHECK(fault("-1%") == "meter specification: a term below 0 at column 1");
  CHECK(fault("0%") == "meter specification: all its terms are 0");
  CHECK(fault("1% 2 digits").find("expected 'of reading'") == std::string::npos);
  CHECK(fault("1%, k = 0").find("a coverage factor from 1 to 10") != std::string::npos);
  CHECK_FALSE(parse_meter_specification("1%, 90 %").ok());
  CHECK_FALSE(parse_meter_specification("nan%").ok());
  CHECK_FALSE(parse_meter_specification("1e400%").ok());
  CHECK_FALSE(parse_meter_specification("1 mV + 1 mV").ok());
}

TEST_CASE("the last digit of what was typed is the resolution") {
  CHECK(resolution_of_text("12.50") == 0.01);
  CHECK(resolution_of_text("-0.3") == 0.1);
  CHECK(resolution_of_text("1200") == 1);
  CHECK(resolution_of_text("1.234e3") == 1);
  CHECK(resolution_of_text("+1.25000000E+01") == 1e-7);
  CHECK(resolution_of_text("1e-3") == 0.001);
  CHECK_FALSE(resolution_of_text("V").has_value());
  CHECK_FALSE(resolution_of_text("12.5V").has_value());
  CHECK_FALSE(resolution_of_text("1e99999").has_value());
}

}  // namespace
}  // namespace foundling
