// A platinum resistance thermometer by IEC 60751:2008, -200 to 850 °C:
// R(t) = r0 (1 + A t + B t^2 + C (t - 100) t^3), the last term below 0 °C only.
#pragma once

#include <cstdint>

#include "schemas/values/result.h"
#include "schemas/values/thermistor.h"

namespace foundling {

// IEC 60751's classes of tolerance. Its formulas from memory, their values at 0 °C checked.
enum class PlatinumClass : std::uint8_t { unstated, a, b };

struct PlatinumResistor {
  double r0_ohm = 100;  // at 0 °C: 100 a Pt100, 1000 a Pt1000
  PlatinumClass tolerance = PlatinumClass::unstated;

  bool operator==(const PlatinumResistor&) const = default;
};

// An error outside -200 to 850 °C.
Result<double> ohms_at(const PlatinumResistor& sensor, double celsius);
Result<Temperature> temperature_at(const PlatinumResistor& sensor, double ohm);

// The limit of error in °C; 0 where no class is stated.
[[nodiscard]] double tolerance_at(const PlatinumResistor& sensor, double celsius);

}  // namespace foundling
