#include "schemas/values/platinum_resistor.h"

#include <cmath>

#include "schemas/values/number_words.h"

namespace foundling {
namespace {

constexpr double a = 3.9083e-3, b = -5.775e-7, c = -4.183e-12;
constexpr double lowest = -200, highest = 850;

double ratio(double t) {
  const double below = t < 0 ? c * (t - 100) * t * t * t : 0;
  return 1 + t * (a + b * t) + below;
}

double slope(double t) {
  const double below = t < 0 ? c * (4 * t - 300) * t * t : 0;
  return a + 2 * b * t + below;
}

}  // namespace

Result<double> ohms_at(const PlatinumResistor& sensor, double celsius) {
  if (celsius >= lowest && celsius <= highest) return sensor.r0_ohm * ratio(celsius);
  return Error{ErrorCode::usage,
               "a platinum resistor's curve goes from -200 to 850 °C (IEC 60751)"};
}

Result<Temperature> temperature_at(const PlatinumResistor& sensor, double ohm) {
  const double wanted = ohm / sensor.r0_ohm;
  // The limits themselves as printed tables have them, to 0.01 Ω of a Pt100.
  constexpr double printed = 5e-5;
  if (!(wanted >= ratio(lowest) - printed && wanted <= ratio(highest) + printed)) {
    return Error{ErrorCode::usage, number_words(ohm) +
                                       " Ω lies outside a platinum resistor's curve of " +
                                       number_words(sensor.r0_ohm * ratio(lowest)) + " to " +
                                       number_words(sensor.r0_ohm * ratio(highest)) + " Ω"};
  }
  // The quadratic's root is the answer above 0 °C and within 3 °C of it below, from where Newton's
  // steps settle: the curve is smooth and steep.
  double t = (-a + std::sqrt(a * a - 4 * b * (1 - wanted))) / (2 * b);
  for (int i = 0; i < 8 && wanted < 1; ++i) t -= (ratio(t) - wanted) / slope(t);
  return Temperature{t, 1 / (sensor.r0_ohm * slope(t))};
}

double tolerance_at(const PlatinumResistor& sensor, double celsius) {
  switch (sensor.tolerance) {
    case PlatinumClass::a:
      return 0.15 + 0.002 * std::fabs(celsius);
    case PlatinumClass::b:
      return 0.30 + 0.005 * std::fabs(celsius);
    case PlatinumClass::unstated:
      break;
  }
  return 0;
}

}  // namespace foundling
