// A thermistor's curve by its maker's data sheet: resistance in Ω to temperature in °C and back.
// Three forms: the B equation (IEC 60539-1), Steinhart and Hart (Deep-Sea Research 15 (1968) 497),
// and a table, between whose points 1/T is taken as linear in ln R, which is the B equation piece
// by piece. Nothing is extrapolated beyond a table, nor below 0 Ω or absolute zero.
#pragma once

#include <string>
#include <vector>

#include "schemas/values/result.h"

namespace foundling {

// R = r0 * exp(b * (1/T - 1/T0)).
struct ThermistorB {
  double b_kelvin = 0;
  double r0_ohm = 0;
  double t0_celsius = 25;

  bool operator==(const ThermistorB&) const = default;
};

// 1/T = a + b ln R + c (ln R)^3, T in kelvin, R in ohm.
struct SteinhartHart {
  double a = 0, b = 0, c = 0;

  bool operator==(const SteinhartHart&) const = default;
};

struct ThermistorPoint {
  double celsius = 0;
  double ohm = 0;

  bool operator==(const ThermistorPoint&) const = default;
};

// By rising temperature; resistance strictly falls (or strictly rises: a PTC).
struct ThermistorTable {
  std::vector<ThermistorPoint> points;

  bool operator==(const ThermistorTable&) const = default;
};

// Sorts the points; an error for fewer than two, doubled temperatures, or a curve that turns back.
Result<ThermistorTable> thermistor_table(std::vector<ThermistorPoint> points);
// An error for values that make no falling curve.
Result<void> check_curve(const ThermistorB& curve);
Result<void> check_curve(const SteinhartHart& curve);

// °C, and how many °C an ohm more makes.
struct Temperature {
  double celsius = 0;
  double celsius_per_ohm = 0;
};

Result<Temperature> temperature_at(const ThermistorB& curve, double ohm);
Result<Temperature> temperature_at(const SteinhartHart& curve, double ohm);
Result<Temperature> temperature_at(const ThermistorTable& curve, double ohm);

Result<double> ohms_at(const ThermistorB& curve, double celsius);
Result<double> ohms_at(const SteinhartHart& curve, double celsius);
Result<double> ohms_at(const ThermistorTable& curve, double celsius);

}  // namespace foundling
