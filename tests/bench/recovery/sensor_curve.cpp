#include "tests/bench/recovery/sensor_curve.h"

#include <algorithm>
#include <cmath>

namespace foundling::recovery {
namespace {

constexpr double kelvin = 273.15;

// R(T) / R(25 C) of a thermistor, the B equation.
double resistance_ratio(double beta, double celsius) {
  return std::exp(beta * (1 / (celsius + kelvin) - 1 / (25 + kelvin)));
}

}  // namespace

double code_of(const SensorCurve& curve, double value) {
  double share = 0;
  switch (curve.shape) {
    case SensorCurve::Shape::none:
      break;
    case SensorCurve::Shape::divider: {
      const double r = resistance_ratio(curve.beta, std::max(value, -200.0));
      share = curve.falls ? r / (r + curve.ratio) : curve.ratio / (r + curve.ratio);
      break;
    }
    case SensorCurve::Shape::resistance:  // full at -40 C
      share =
          resistance_ratio(curve.beta, std::max(value, -200.0)) / resistance_ratio(curve.beta, -40);
      break;
    case SensorCurve::Shape::reciprocal:
      share = curve.ratio / (std::max(value, 0.0) + curve.ratio);
      break;
    case SensorCurve::Shape::root:
      share = std::sqrt(std::max(value, 0.0) / curve.ratio);
      break;
  }
  return curve.full * std::clamp(share, 0.0, 1.0);
}

double value_of(const SensorCurve& curve, double code) {
  const double share = std::clamp(code / curve.full, 1e-9, 1 - 1e-9);
  const auto celsius = [&](double r) {
    return 1 / (std::log(r) / curve.beta + 1 / (25 + kelvin)) - kelvin;
  };
  switch (curve.shape) {
    case SensorCurve::Shape::none:
      break;
    case SensorCurve::Shape::divider:
      return celsius(curve.ratio * (curve.falls ? share / (1 - share) : (1 - share) / share));
    case SensorCurve::Shape::resistance:
      return celsius(share * resistance_ratio(curve.beta, -40));
    case SensorCurve::Shape::reciprocal:
      return curve.ratio * (1 - share) / share;
    case SensorCurve::Shape::root:
      return curve.ratio * share * share;
  }
  return code;
}

}  // namespace foundling::recovery
