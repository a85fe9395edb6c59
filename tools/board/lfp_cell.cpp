#include "tools/board/lfp_cell.h"

#include <algorithm>
#include <cmath>

namespace foundling::board {

// Afshar, Morris, Khajepour, "Efficient electrochemical model for lithium-ion cells",
// arXiv 1709.03970 (2017).
double lfp_half_cell(double y) {
  return 3.4077 - 0.020269 * y + 0.5 * std::exp(-150 * y) - 0.9 * std::exp(-30 * (1 - y));
}

// Chen et al., J. Electrochem. Soc. 167 (2020) 080534: the negative electrode of an NMC cell, taken
// here as a plausible graphite for want of the phosphate cell's own.
double graphite_half_cell(double x) {
  return 1.9793 * std::exp(-39.3631 * x) + 0.2482 - 0.0909 * std::tanh(29.8538 * (x - 0.1234)) -
         0.04478 * std::tanh(14.9159 * (x - 0.2769)) - 0.0205 * std::tanh(30.4444 * (x - 0.6103));
}

double open_circuit_voltage(double state_of_charge) {
  const double z = std::clamp(state_of_charge, 0.0, 1.0);
  // Invented balance: empty near 2.5 V, full and at rest near 3.4 V.
  const double y = 0.954 - 0.944 * z;
  const double x = 0.050 + 0.780 * z;
  return lfp_half_cell(y) - graphite_half_cell(x);
}

double count_charge(double state_of_charge, double current, double seconds, double capacity,
                    double efficiency) {
  return state_of_charge - efficiency * current * seconds / (3600 * capacity);
}

}  // namespace foundling::board
