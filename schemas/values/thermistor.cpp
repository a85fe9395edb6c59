#include "schemas/values/thermistor.h"

#include <algorithm>
#include <cmath>

#include "schemas/values/number_words.h"

namespace foundling {
namespace {

constexpr double zero_celsius = 273.15;  // K; SI brochure, 2.3.1

Error usage(std::string message) { return {ErrorCode::usage, std::move(message)}; }

Result<void> check_ohm(double ohm) {
  if (ohm > 0 && std::isfinite(ohm)) return {};
  return usage("a thermistor has more than 0 Ω, not " + number_words(ohm));
}

Result<double> kelvin_of(double celsius) {
  if (celsius > -zero_celsius && std::isfinite(celsius)) return celsius + zero_celsius;
  return usage("a temperature is above -273.15 °C, not " + number_words(celsius));
}

// From 1/T and its slope over ln R.
Result<Temperature> temperature(double inverse, double slope, double ohm) {
  // 2000 K: beyond it the sensor would be gone, and the curve is not meant for that resistance.
  if (!(inverse > 1.0 / 2000)) {
    return usage("the thermistor's curve has no temperature for " + number_words(ohm) + " Ω");
  }
  const double kelvin = 1 / inverse;
  return Temperature{kelvin - zero_celsius, -kelvin * kelvin * slope / ohm};
}

// 1/T at a table's point.
double inverse_kelvin(const ThermistorPoint& point) { return 1 / (point.celsius + zero_celsius); }

}  // namespace

Result<ThermistorTable> thermistor_table(std::vector<ThermistorPoint> points) {
  if (points.size() < 2) return usage("a thermistor's table has two points or more");
  for (const ThermistorPoint& point : points) {
    if (auto good = kelvin_of(point.celsius); !good) return good.error();
    if (auto good = check_ohm(point.ohm); !good) return good.error();
  }
  std::sort(points.begin(), points.end(),
            [](const auto& a, const auto& b) { return a.celsius < b.celsius; });
  const bool falls = points[1].ohm < points[0].ohm;
  for (std::size_t i = 1; i < points.size(); ++i) {
    if (points[i].celsius == points[i - 1].celsius) {
      return usage("the thermistor's table has " + number_words(points[i].celsius) + " °C twice");
    }
    if (points[i].ohm == points[i - 1].ohm || (points[i].ohm < points[i - 1].ohm) != falls) {
      return usage("the thermistor's table turns back at " + number_words(points[i].celsius) +
                   " °C: one resistance would mean two temperatures");
    }
  }
  return ThermistorTable{std::move(points)};
}

Result<void> check_curve(const ThermistorB& curve) {
  if (!(curve.b_kelvin > 0)) return usage("a thermistor's B is above 0 K");
  if (auto good = check_ohm(curve.r0_ohm); !good) return good;
  if (const auto good = kelvin_of(curve.t0_celsius); !good) return good.error();
  return {};
}

Result<void> check_curve(const SteinhartHart& curve) {
  if (curve.b > 0 && curve.c >= 0 && std::isfinite(curve.a)) return {};
  return usage("Steinhart-Hart coefficients have B above 0 and C of 0 or more");
}

Result<Temperature> temperature_at(const ThermistorB& curve, double ohm) {
  if (auto good = check_ohm(ohm); !good) return good.error();
  const double slope = 1 / curve.b_kelvin;
  const double inverse =
      1 / (curve.t0_celsius + zero_celsius) + std::log(ohm / curve.r0_ohm) * slope;
  return temperature(inverse, slope, ohm);
}

Result<Temperature> temperature_at(const SteinhartHart& curve, double ohm) {
  if (auto good = check_ohm(ohm); !good) return good.error();
  const double l = std::log(ohm);
  return temperature(curve.a + l * (curve.b + curve.c * l * l), curve.b + 3 * curve.c * l * l, ohm);
}

Result<Temperature> temperature_at(const ThermistorTable& curve, double ohm) {
  if (auto good = check_ohm(ohm); !good) return good.error();
  const auto& points = curve.points;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const ThermistorPoint &a = points[i - 1], &b = points[i];
    const double slack = 1e-9 * ohm;  // a rounding error beyond the last point is no reason
    if (ohm < std::min(a.ohm, b.ohm) - slack || ohm > std::max(a.ohm, b.ohm) + slack) continue;
    const double slope = (inverse_kelvin(b) - inverse_kelvin(a)) / std::log(b.ohm / a.ohm);
    return temperature(inverse_kelvin(a) + slope * std::log(ohm / a.ohm), slope, ohm);
  }
  return usage(number_words(ohm) + " Ω lies outside the thermistor's table, " +
               number_words(points.front().ohm) + " to " + number_words(points.back().ohm) + " Ω");
}

Result<double> ohms_at(const ThermistorB& curve, double celsius) {
  const auto kelvin = kelvin_of(celsius);
  if (!kelvin) return kelvin.error();
  return curve.r0_ohm *
         std::exp(curve.b_kelvin * (1 / *kelvin - 1 / (curve.t0_celsius + zero_celsius)));
}

// The cubic c l^3 + b l + a - 1/T = 0 has one real root, as b and c are positive; by halving, since
// Newton's steps may run away where c is small.
Result<double> ohms_at(const SteinhartHart& curve, double celsius) {
  const auto kelvin = kelvin_of(celsius);
  if (!kelvin) return kelvin.error();
  double low = std::log(1e-3), high = std::log(1e12);  // no thermistor is beyond
  const auto excess = [&](double l) {
    return curve.a + l * (curve.b + curve.c * l * l) - 1 / *kelvin;
  };
  if (excess(low) > 0 || excess(high) < 0) {
    return usage("the thermistor's curve has no resistance for " + number_words(celsius) + " °C");
  }
  for (int i = 0; i < 100; ++i) {
    const double middle = (low + high) / 2;
    (excess(middle) > 0 ? high : low) = middle;
  }
  return std::exp((low + high) / 2);
}

Result<double> ohms_at(const ThermistorTable& curve, double celsius) {
  const auto kelvin = kelvin_of(celsius);
  if (!kelvin) return kelvin.error();
  const auto& points = curve.points;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const ThermistorPoint &a = points[i - 1], &b = points[i];
    if (celsius < a.celsius || celsius > b.celsius) continue;
    const double share =
        (1 / *kelvin - inverse_kelvin(a)) / (inverse_kelvin(b) - inverse_kelvin(a));
    return a.ohm * std::exp(share * std::log(b.ohm / a.ohm));
  }
  return usage(number_words(celsius) + " °C lies outside the thermistor's table, " +
               number_words(points.front().celsius) + " to " + number_words(points.back().celsius) +
               " °C");
}

}  // namespace foundling
