// Sensors whose code is no straight line of the quantity, as a board without a look-up table sends
// them: thermistors in a divider, a resistance behind a reciprocal, a flow by its square root.
#pragma once

namespace foundling::recovery {

struct SensorCurve {
  enum class Shape { none, divider, resistance, reciprocal, root };
  Shape shape = Shape::none;
  double full = 4095;  // greatest code
  double beta = 3950;  // of a thermistor, K
  double ratio = 1;    // fixed resistor over thermistor at 25 C; else a size of the quantity
  bool falls = false;  // divider: the code falls with temperature
};

// Raw code for a value, not yet rounded, and back. What the sensor cannot tell is held at its end.
[[nodiscard]] double code_of(const SensorCurve& curve, double value);
[[nodiscard]] double value_of(const SensorCurve& curve, double code);

}  // namespace foundling::recovery
