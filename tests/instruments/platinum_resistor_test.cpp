// Platinum resistors against the table of IEC 60751:2008.
#include "schemas/values/platinum_resistor.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>

#include "tests/must.h"

namespace foundling {
namespace {

struct Row {
  double celsius;
  double ohm;
};

// IEC 60751:2008, table 1 (as public pages print it), to 0.01 Ω.
constexpr std::array<Row, 20> table{{{-200, 18.52}, {-100, 60.26}, {-50, 80.31},  {-40, 84.27},
                                     {-30, 88.22},  {-20, 92.16},  {-10, 96.09},  {0, 100.00},
                                     {10, 103.90},  {20, 107.79},  {30, 111.67},  {40, 115.54},
                                     {50, 119.40},  {60, 123.24},  {100, 138.51}, {150, 157.33},
                                     {200, 175.86}, {400, 247.09}, {600, 313.71}, {850, 390.48}}};

TEST_CASE("a Pt100 follows the table of IEC 60751, below 0 °C too") {
  for (const Row& row : table) {
    CAPTURE(row.celsius);
    CHECK(std::fabs(must(ohms_at(PlatinumResistor{}, row.celsius)) - row.ohm) <= 0.0051);
  }
  // The same formula in more digits, computed from the standard's coefficients.
  CHECK(must(ohms_at(PlatinumResistor{}, 25)) == doctest::Approx(109.734656).epsilon(1e-8));
  CHECK(must(ohms_at(PlatinumResistor{}, -50)) == doctest::Approx(80.306282).epsilon(1e-8));
  CHECK(must(ohms_at(PlatinumResistor{}, -200)) == doctest::Approx(18.52008).epsilon(1e-8));
}

TEST_CASE("the table's resistances give its temperatures") {
  for (const Row& row : table) {
    CAPTURE(row.celsius);
    const auto found = must(temperature_at(PlatinumResistor{}, row.ohm));
    // Half of the last printed digit is 0.005 Ω: 0.013 °C at -200, 0.017 °C at 850.
    CHECK(std::fabs(found.celsius - row.celsius) <= 0.018);
  }
}

TEST_CASE("there and back is exact over the whole range, for a Pt1000 too") {
  for (const double r0 : {100.0, 1000.0}) {
    const PlatinumResistor sensor{r0, PlatinumClass::unstated};
    for (int t = -200; t <= 850; ++t) {
      CAPTURE(t);
      const double ohm = must(ohms_at(sensor, t));
      CHECK(std::fabs(must(temperature_at(sensor, ohm)).celsius - t) < 1e-7);
    }
  }
}

TEST_CASE("the slope is that of the curve") {
  for (const double t : {-150.0, -20.0, 0.5, 25.0, 300.0}) {
    const double rise =
        must(ohms_at(PlatinumResistor{}, t + 0.01)) - must(ohms_at(PlatinumResistor{}, t - 0.01));
    const auto found =
        must(temperature_at(PlatinumResistor{}, must(ohms_at(PlatinumResistor{}, t))));
    CHECK(found.celsius_per_ohm == doctest::Approx(0.02 / rise).epsilon(1e-6));
  }
}

TEST_CASE("beyond its curve there is no temperature") {
  CHECK_FALSE(temperature_at(PlatinumResistor{}, 18.4).ok());
  CHECK_FALSE(temperature_at(PlatinumResistor{}, 390.6).ok());
  CHECK_FALSE(temperature_at(PlatinumResistor{}, std::nan("")).ok());
  CHECK_FALSE(ohms_at(PlatinumResistor{}, -201).ok());
  CHECK_FALSE(ohms_at(PlatinumResistor{}, 851).ok());
}

TEST_CASE("classes of tolerance") {
  // IEC 60751: 0.15 and 0.3 °C at 0 °C.
  CHECK(tolerance_at({100, PlatinumClass::a}, 0) == 0.15);
  CHECK(tolerance_at({100, PlatinumClass::b}, 0) == 0.3);
  // From memory: they grow by 0.002 and 0.005 °C a °C.
  CHECK(tolerance_at({100, PlatinumClass::a}, 100) == doctest::Approx(0.35));
  CHECK(tolerance_at({100, PlatinumClass::b}, -100) == doctest::Approx(0.8));
}

}  // namespace
}  // namespace foundling
