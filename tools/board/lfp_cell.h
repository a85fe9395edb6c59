// A lithium iron phosphate cell of the invented tractor: open-circuit voltage, resistance, charge
// counting. Current is positive on discharge here, as in Plett's equation; the board's own sign is
// its own affair. The curve is built from published half-cell formulas (see lfp_cell.cpp), the
// balance of the electrodes and the resistance are invented.
#pragma once

namespace foundling::board {

// Volts against lithium metal. y = lithium fraction of the phosphate, 0 charged .. 1 discharged.
[[nodiscard]] double lfp_half_cell(double y);

// Volts against lithium metal. x = lithium fraction of the graphite, 0 discharged .. 1 charged.
[[nodiscard]] double graphite_half_cell(double x);

// Full cell at rest, volts. state_of_charge 0..1, values outside are held at the ends.
[[nodiscard]] double open_circuit_voltage(double state_of_charge);

// z - efficiency * current * dt / (3600 * capacity): amperes, seconds, ampere-hours.
[[nodiscard]] double count_charge(double state_of_charge, double current, double seconds,
                                  double capacity, double efficiency = 1);

struct LfpCell {
  double capacity = 100;       // Ah
  double resistance = 0.0009;  // ohm, all of it in series
  double state_of_charge = 0.6;

  void discharge(double current, double seconds) {
    state_of_charge = count_charge(state_of_charge, current, seconds, capacity);
  }
  [[nodiscard]] double terminal_voltage(double current) const {
    return open_circuit_voltage(state_of_charge) - current * resistance;
  }
};

}  // namespace foundling::board
