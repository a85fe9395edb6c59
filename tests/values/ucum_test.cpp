// Codes of the Unified Code for Units of Measure. Every code below was put to the validator of the
// US National Library of Medicine (npm package @lhncbc/ucum-lhc), which knew the unit.
#include "schemas/values/ucum.h"

#include <doctest/doctest.h>

#include <string>

#include "schemas/values/unit.h"

namespace foundling {

TEST_CASE("a unit has its UCUM code in every spelling, and what is no unit has none") {
  CHECK(ucum_code("V") == "V");
  CHECK(ucum_code("µV") == "uV");
  CHECK(ucum_code("°C") == "Cel");
  CHECK(ucum_code("degC") == "Cel");
  CHECK(ucum_code("kohm") == "kOhm");
  CHECK(ucum_code("Ah") == "A.h");
  CHECK(ucum_code("kWh") == "kW.h");
  CHECK(ucum_code("rpm") == "/min");
  CHECK(ucum_code("l/min") == "L/min");
  CHECK(ucum_code("").empty());
  CHECK(ucum_code("state").empty());
  CHECK(ucum_code("furlongs").empty());
}

TEST_CASE("every unit that the project knows has a UCUM code") {
  for (const std::string& unit : unit_names()) {
    CAPTURE(unit);
    CHECK(ucum_code(unit).empty() == (unit == "state"));
  }
}

}  // namespace foundling
