// Thermistors against two published tables and a probe's published coefficients.
#include "schemas/values/thermistor.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "tests/must.h"

namespace foundling {
namespace {

struct Row {
  double celsius;
  double ohm;
};

// Semitec 103AT-2 data sheet, kΩ there.
constexpr std::array<Row, 18> semitec{{{-50, 329500},
                                       {-40, 188500},
                                       {-30, 111300},
                                       {-20, 67770},
                                       {-10, 42470},
                                       {0, 27280},
                                       {10, 17960},
                                       {20, 12090},
                                       {25, 10000},
                                       {30, 8313},
                                       {40, 5827},
                                       {50, 4160},
                                       {60, 3020},
                                       {70, 2228},
                                       {80, 1668},
                                       {85, 1451},
                                       {90, 1266},
                                       {100, 973.1}}};

// EPCOS (TDK) B57330V2103, as the Linux kernel's driver ntc_thermistor has it.
constexpr std::array<Row, 17> epcos{{{-40, 190030},
                                     {-30, 112060},
                                     {-20, 68104},
                                     {-10, 42576},
                                     {0, 27326},
                                     {10, 17973},
                                     {20, 12090},
                                     {25, 10000},
                                     {30, 8311},
                                     {40, 5825},
                                     {50, 4158},
                                     {60, 3019},
                                     {70, 2227},
                                     {80, 1668},
                                     {85, 1451},
                                     {90, 1266},
                                     {100, 973}}};

const ThermistorB b3435{3435, 10000, 25};

TEST_CASE("the B equation meets the published tables where its B was taken, at 25 and 85 °C") {
  // B25/85 = 3435 K is a rounded figure: 10000 and 1451 Ω give 3435.43 K.
  CHECK(must(ohms_at(b3435, 25)) == doctest::Approx(10000));
  CHECK(must(ohms_at(b3435, 85)) == doctest::Approx(1451).epsilon(5e-4));
  CHECK(must(temperature_at(b3435, 10000)).celsius == doctest::Approx(25));
  CHECK(must(temperature_at(b3435, 1451)).celsius == doctest::Approx(85).epsilon(2e-4));
}

TEST_CASE("elsewhere the B equation is the B equation, and off the tables as is known") {
  // Pure formula, computed with another program: 248276, 77523, 28704, 18410, 5759, 4101, 2981,
  // 987 Ω.
  constexpr std::array<Row, 8> formula{{{-40, 248276},
                                        {-20, 77523},
                                        {0, 28704},
                                        {10, 18410},
                                        {40, 5759},
                                        {50, 4101},
                                        {60, 2981},
                                        {100, 987}}};
  for (const Row& row : formula) {
    CAPTURE(row.celsius);
    CHECK(must(ohms_at(b3435, row.celsius)) == doctest::Approx(row.ohm).epsilon(5e-4));
  }
  CHECK(must(temperature_at(b3435, 27280)).celsius == doctest::Approx(1.11).epsilon(0.01));
}

TEST_CASE("Steinhart-Hart with a probe's published coefficients") {
  // BetaTherm 10K3A1; 32651 and 19903 Ω for 0 and 10 °C by the maker's table, from memory.
  const SteinhartHart probe{1.129241e-3, 2.341077e-4, 8.775468e-8};
  CHECK(must(temperature_at(probe, 10000)).celsius == doctest::Approx(24.99997).epsilon(1e-6));
  CHECK(std::fabs(must(temperature_at(probe, 32651)).celsius) < 0.001);
  CHECK(must(temperature_at(probe, 19903)).celsius == doctest::Approx(10).epsilon(1e-4));
}

TEST_CASE("Steinhart-Hart fitted to the EPCOS table at 0, 25 and 50 °C") {
  const SteinhartHart fit{8.802056817e-4, 2.528678842e-4, 1.853428869e-7};
  // Residuals as another program computed them.
  CHECK(std::fabs(must(temperature_at(fit, 68104)).celsius - -19.971) < 0.001);
  CHECK(std::fabs(must(temperature_at(fit, 17973)).celsius - 9.998) < 0.001);
  CHECK(std::fabs(must(temperature_at(fit, 3019)).celsius - 59.994) < 0.001);
  CHECK(std::fabs(must(temperature_at(fit, 1451)).celsius - 84.940) < 0.001);
  CHECK(std::fabs(must(temperature_at(fit, 973)).celsius - 99.928) < 0.001);
}

// Every second point makes the table; the points between are what the maker says.
template <std::size_t n>
double worst_between(const std::array<Row, n>& rows) {
  std::vector<ThermistorPoint> points;
  for (std::size_t i = 0; i < n; ++i) {
    if (i % 2 == 0 || i + 1 == n) points.push_back({rows[i].celsius, rows[i].ohm});
  }
  const auto curve = must(thermistor_table(points));
  double worst = 0;
  for (const Row& row : rows) {
    worst = std::max(worst, std::fabs(must(temperature_at(curve, row.ohm)).celsius - row.celsius));
  }
  return worst;
}

TEST_CASE("between a table's points the B equation holds piece by piece") {
  // Points 20 °C apart leave less than the tables' own rounding and tolerance (some 0.2 °C).
  CHECK(worst_between(semitec) < 0.2);
  CHECK(worst_between(epcos) < 0.2);
  std::vector<ThermistorPoint> points;
  for (const Row& row : epcos) points.push_back({row.celsius, row.ohm});
  const auto curve = must(thermistor_table(points));
  for (const Row& row : epcos) {
    CHECK(must(temperature_at(curve, row.ohm)).celsius == doctest::Approx(row.celsius));
    CHECK(must(ohms_at(curve, row.celsius)) == doctest::Approx(row.ohm));
  }
}

template <typename Curve>
void check_there_and_back(const Curve& curve, double from, double to) {
  for (double t = from; t <= to; t += 3.7) {
    CAPTURE(t);
    const double ohm = must(ohms_at(curve, t));
    const auto back = must(temperature_at(curve, ohm));
    CHECK(std::fabs(back.celsius - t) < 1e-6);
    const auto hotter = must(temperature_at(curve, ohm * 1.000001));
    CHECK(back.celsius_per_ohm ==
          doctest::Approx((hotter.celsius - back.celsius) / (ohm * 1e-6)).epsilon(1e-3));
  }
}

TEST_CASE("there and back, and the slope is that of the curve") {
  check_there_and_back(b3435, -50, 120);
  check_there_and_back(SteinhartHart{1.129241e-3, 2.341077e-4, 8.775468e-8}, -50, 120);
  check_there_and_back(must(thermistor_table({{0, 27326}, {25, 10000}, {100, 973}})), 1, 99);
}

TEST_CASE("what is no curve, or beyond it, is refused") {
  const auto table = must(thermistor_table({{50, 4158}, {0, 27326}}));
  CHECK(temperature_at(table, 30000).error().message ==
        "30000 Ω lies outside the thermistor's table, 27326 to 4158 Ω");
  CHECK_FALSE(ohms_at(table, 50.1).ok());
  CHECK_FALSE(temperature_at(b3435, 0).ok());
  CHECK_FALSE(temperature_at(b3435, -5).ok());
  CHECK_FALSE(temperature_at(b3435, 1e-9).ok());
  CHECK_FALSE(ohms_at(b3435, -300).ok());
  CHECK_FALSE(thermistor_table({{0, 1}}).ok());
  CHECK_FALSE(thermistor_table({{0, 5}, {0, 4}}).ok());
  CHECK(thermistor_table({{0, 5}, {10, 4}, {20, 4.5}}).error().message ==
        "the thermistor's table turns back at 20 °C: one resistance would mean two temperatures");
  CHECK_FALSE(check_curve(ThermistorB{-1, 10000, 25}).ok());
  CHECK_FALSE(check_curve(SteinhartHart{1e-3, -2e-4, 0}).ok());
}

}  // namespace
}  // namespace foundling
