// What stands between the quantity and the meter, as one line of text: a shunt, a thermistor, a
// platinum resistor, with the values of the person's data sheet.
//
//   shunt 100 A / 75 mV ± 0.5 %
//   thermistor b 3435 K r 10 kΩ [at 25 °C] ± 0.5 °C
//   thermistor abc 1.129241e-3 2.341077e-4 8.775468e-8
//   thermistor table 0:27326 25:10000 50:4158        (°C:Ω, two points or more)
//   pt100 class B                                    (also pt500, pt1000)
//
// "±" may be written +-, and Ω ohm. A tolerance is a limit: its standard uncertainty is the limit
// / sqrt(3) (rectangular, GUM 4.3.7). Everything in V, A, Ω, °C.
#pragma once

#include <string>
#include <string_view>
#include <variant>

#include "schemas/values/platinum_resistor.h"
#include "schemas/values/result.h"
#include "schemas/values/thermistor.h"

namespace foundling {

// Its rating: so many amperes make so many volts.
struct Shunt {
  double amperes = 0;
  double volts = 0;

  bool operator==(const Shunt&) const = default;
};

struct Sensor {
  std::variant<Shunt, ThermistorB, SteinhartHart, ThermistorTable, PlatinumResistor> curve;
  double tolerance = 0;  // of a shunt: share of one; else °C; 0: not stated

  bool operator==(const Sensor&) const = default;
};

// The error names the column.
Result<Sensor> parse_sensor(std::string_view text);

[[nodiscard]] std::string_view electrical_unit(const Sensor& sensor);  // "V" or "Ω"
[[nodiscard]] std::string_view quantity_unit(const Sensor& sensor);    // "A" or "°C"

struct Measured {
  double value = 0;
  double uncertainty = 0;  // standard; NaN unknown
};

// The meter's reading with its standard uncertainty (NaN unknown), to the quantity with that of
// meter and sensor together (GUM 5.1.2). An error where the curve has no answer.
Result<Measured> quantity_of(const Sensor& sensor, const Measured& electrical);
// The other way: what to set a source or a resistor decade to.
Result<double> electrical_of(const Sensor& sensor, double quantity);

}  // namespace foundling
