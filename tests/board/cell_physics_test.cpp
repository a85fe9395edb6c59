// The cell and the filters of the simulated board against published formulas.
#include <doctest/doctest.h>

#include <array>
#include <cmath>

#include "tools/board/lfp_cell.h"
#include "tools/board/low_pass.h"
#include "tools/board/noise.h"

namespace foundling::board {

TEST_CASE("the phosphate half cell gives the values of the published formula") {
  // Formula: S. Afshar, K. Morris, A. Khajepour, arXiv 1709.03970 (2017). The values were computed
  // from it with another program.
  struct Row {
    double y, volts;
  };
  constexpr std::array<Row, 8> rows{{{0.05, 3.4069631},
                                     {0.1, 3.4056733},
                                     {0.2, 3.4036462},
                                     {0.5, 3.3975652},
                                     {0.8, 3.3892539},
                                     {0.9, 3.3446495},
                                     {0.95, 3.1876273},
                                     {0.99, 2.7208973}}};
  for (const Row& row : rows) {
    CAPTURE(row.y);
    CHECK(lfp_half_cell(row.y) == doctest::Approx(row.volts).epsilon(1e-7));
  }
}

TEST_CASE("the graphite half cell gives the values of the published formula") {
  // Formula: C.-H. Chen et al., J. Electrochem. Soc. 167 (2020) 080534; values computed from it
  // with another program.
  CHECK(graphite_half_cell(0.3) == doctest::Approx(0.1629731551).epsilon(1e-9));
  CHECK(graphite_half_cell(0.5) == doctest::Approx(0.1330855129).epsilon(1e-9));
  CHECK(graphite_half_cell(0.9) == doctest::Approx(0.09202000165).epsilon(1e-9));
}

TEST_CASE(
    "the open-circuit voltage rises with charge, is flat in the middle and steep at the ends") {
  double before = open_circuit_voltage(0);
  for (int percent = 1; percent <= 100; ++percent) {
    const double now = open_circuit_voltage(percent / 100.0);
    CAPTURE(percent);
    CHECK(now > before);
    before = now;
  }
  // 2.5 V and 3.65 V are the makers' limits of use for such cells (common practice, no source); at
  // rest a full one stays below the upper limit.
  CHECK(open_circuit_voltage(0) == doctest::Approx(2.5).epsilon(0.02));
  CHECK(open_circuit_voltage(1) > 3.3);
  CHECK(open_circuit_voltage(1) < 3.65);
  CHECK(open_circuit_voltage(0.8) - open_circuit_voltage(0.3) < 0.1);
  CHECK(open_circuit_voltage(0.1) - open_circuit_voltage(0) > 0.4);
}

TEST_CASE("20 A for 1800 s from 100 Ah takes 10 percent") {
  // Charge counting: G. L. Plett, Battery Management Systems vol. 1, Artech House 2015 (from
  // memory); the figure is arithmetic: 20 A * 0.5 h = 10 Ah.
  CHECK(count_charge(0.8, 20, 1800, 100) == doctest::Approx(0.7).epsilon(1e-12));
  LfpCell cell;
  cell.state_of_charge = 0.8;
  for (int i = 0; i < 18'000; ++i) cell.discharge(20, 0.1);
  CHECK(cell.state_of_charge == doctest::Approx(0.7).epsilon(1e-9));
  for (int i = 0; i < 18'000; ++i) cell.discharge(-20, 0.1);
  CHECK(cell.state_of_charge == doctest::Approx(0.8).epsilon(1e-9));
}

TEST_CASE("a discharge current lowers the terminal voltage by current times resistance") {
  LfpCell cell;  // Ohm's law
  const double rest = cell.terminal_voltage(0);
  CHECK(rest == doctest::Approx(open_circuit_voltage(cell.state_of_charge)));
  CHECK(rest - cell.terminal_voltage(100) == doctest::Approx(100 * cell.resistance));
  CHECK(cell.terminal_voltage(-100) > rest);
}

TEST_CASE("a low-pass answers a step with 63.2 percent after one time constant") {
  // 1 - 1/e, any textbook of linear systems.
  LowPass filter(0.5, 0.001);
  filter.update(0);
  double value = 0;
  for (int i = 0; i < 500; ++i) value = filter.update(1);
  CHECK(value == doctest::Approx(1 - std::exp(-1.0)).epsilon(1e-9));
}

TEST_CASE("the noise has mean 0 and standard deviation 1") {
  constexpr int n = 200'000;
  Noise noise(5);
  double sum = 0;
  double squares = 0;
  for (int i = 0; i < n; ++i) {
    const double x = noise.gaussian();
    sum += x;
    squares += x * x;
  }
  // Five standard errors: 1/sqrt(n) of the mean, sqrt(2/n) of the variance.
  CHECK(std::abs(sum / n) < 5 / std::sqrt(n));
  CHECK(std::abs(squares / n - 1) < 5 * std::sqrt(2.0 / n));
}

}  // namespace foundling::board
