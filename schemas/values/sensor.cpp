#include "schemas/values/sensor.h"

#include <cmath>
#include <initializer_list>
#include <numbers>
#include <utility>
#include <vector>

#include "schemas/values/text_scan.h"
#include "schemas/values/unit.h"

namespace foundling {
namespace {

// Member by member: g++ 12 warns falsely of a variant that is built in place.
template <typename Curve>
Result<Sensor> sensor_of(Curve curve) {
  Sensor sensor;
  sensor.curve.template emplace<Curve>(std::move(curve));
  return sensor;
}

class Reader {
 public:
  explicit Reader(std::string_view text) : scan_(text) {}

  Result<Sensor> read() {
    auto sensor = kind();
    if (!sensor) return sensor.error();
    if (auto taken = tolerance(*sensor); !taken) return taken.error();
    if (!scan_.at_end()) return fault("± and a tolerance, or the end");
    return sensor;
  }

 private:
  [[nodiscard]] Error fault(std::string_view expected) const {
    return {ErrorCode::format, "sensor: " + scan_.complaint(expected)};
  }

  Result<Sensor> kind() {
    TextScan before = scan_;
    const std::string_view word = scan_.word();
    if (word == "shunt") return shunt();
    if (word == "thermistor") return thermistor();
    if (word == "pt") return platinum();
    scan_ = before;
    return fault("shunt, thermistor, or pt100");
  }

  // A number above 0 with a unit that converts to `unit`.
  Result<double> quantity(std::string_view unit, std::string_view expected) {
    const TextScan before = scan_;
    const auto value = scan_.number();
    const auto conversion = unit_conversion(value ? scan_.word() : std::string_view("none"), unit);
    if (value && conversion) return conversion->value(*value);
    scan_ = before;
    return fault(expected);
  }

  Result<Sensor> shunt() {
    const auto amperes = quantity("A", "a rating like 100 A / 75 mV");
    if (!amperes) return amperes.error();
    if (!scan_.take("/")) return fault("/ and the millivolts of the rating");
    const auto volts = quantity("V", "the volts of the rating, like 75 mV");
    if (!volts) return volts.error();
    if (!(*amperes > 0 && *volts > 0)) {
      return Error{ErrorCode::format, "sensor: a shunt's rating is above 0 A and 0 V"};
    }
    return sensor_of(Shunt{*amperes, *volts});
  }

  Result<Sensor> thermistor() {
    const TextScan before = scan_;
    const std::string_view form = scan_.word();
    if (form == "b") return thermistor_b();
    if (form == "abc") return steinhart_hart();
    if (form == "table") return table();
    scan_ = before;
    return fault("b, abc or table");
  }

  Result<Sensor> thermistor_b() {
    ThermistorB curve;
    const auto b = scan_.number();
    if (!b) return fault("B in kelvin, like 3435 K");
    curve.b_kelvin = *b;
    if (scan_.peek_word() == "K") scan_.word();
    if (scan_.peek_word() != "r") return fault("r and a resistance, like r 10 kΩ");
    scan_.word();
    const auto ohm = quantity("Ω", "a resistance like 10 kΩ");
    if (!ohm) return ohm.error();
    curve.r0_ohm = *ohm;
    if (scan_.peek_word() == "at") {
      scan_.word();
      const auto celsius = quantity("°C", "a temperature like 25 °C");
      if (!celsius) return celsius.error();
      curve.t0_celsius = *celsius;
    }
    if (auto good = check_curve(curve); !good) return good.error();
    return sensor_of(curve);
  }

  Result<Sensor> steinhart_hart() {
    SteinhartHart curve;
    for (double* const into : {&curve.a, &curve.b, &curve.c}) {
      const auto value = scan_.number();
      if (!value) return fault("three coefficients A B C");
      *into = *value;
    }
    if (auto good = check_curve(curve); !good) return good.error();
    return sensor_of(curve);
  }

  Result<Sensor> table() {
    std::vector<ThermistorPoint> points;
    do {
      const auto celsius = scan_.number();
      if (!celsius || !scan_.take(":")) return fault("points like 25:10000, °C and Ω");
      const auto ohm = scan_.number();
      if (!ohm) return fault("a resistance in Ω after the ':'");
      points.push_back({*celsius, *ohm});
    } while (!scan_.at_end() && !tolerance_is_next());
    auto made = thermistor_table(std::move(points));
    if (!made) return made.error();
    return sensor_of(std::move(made).value());
  }

  Result<Sensor> platinum() {
    PlatinumResistor sensor;
    const auto ohm = scan_.number();
    if (!ohm || !(*ohm >= 10 && *ohm <= 10000)) return fault("pt100, pt500 or pt1000");
    sensor.r0_ohm = *ohm;
    if (scan_.peek_word() != "class") return sensor_of(sensor);
    scan_.word();
    const std::string_view grade = scan_.peek_word();
    if (grade != "A" && grade != "a" && grade != "B" && grade != "b") return fault("A or B");
    sensor.tolerance = grade == "A" || grade == "a" ? PlatinumClass::a : PlatinumClass::b;
    scan_.word();
    return sensor_of(sensor);
  }

  [[nodiscard]] bool tolerance_is_next() const {
    const std::string_view next = scan_.rest();
    return next.substr(0, 2) == "±" || next.substr(0, 2) == "+-" || next.substr(0, 3) == "+/-";
  }

  Result<void> tolerance(Sensor& sensor) {
    if (!scan_.take("±") && !scan_.take("+-") && !scan_.take("+/-")) return {};
    const bool shunt = std::holds_alternative<Shunt>(sensor.curve);
    const char* const expected = shunt ? "a tolerance like 0.5 %" : "a tolerance like 0.5 °C";
    const auto value = scan_.number();
    if (!value || *value < 0) return fault(expected);
    const std::string_view unit = scan_.peek_word();
    // A difference of 1 °C is one of 1 K.
    const bool fits = shunt ? unit == "%" : known_unit(unit) == "°C" || unit == "K";
    if (!fits) return fault(expected);
    scan_.word();
    sensor.tolerance = shunt ? *value / 100 : *value;
    return {};
  }

  TextScan scan_;
};

double hypotenuse(std::initializer_list<double> parts) {
  double sum = 0;
  for (const double part : parts) sum += part * part;
  return std::sqrt(sum);
}

}  // namespace

Result<Sensor> parse_sensor(std::string_view text) { return Reader(text).read(); }

std::string_view electrical_unit(const Sensor& sensor) {
  return std::holds_alternative<Shunt>(sensor.curve) ? "V" : "Ω";
}

std::string_view quantity_unit(const Sensor& sensor) {
  return std::holds_alternative<Shunt>(sensor.curve) ? "A" : "°C";
}

Result<Measured> quantity_of(const Sensor& sensor, const Measured& electrical) {
  if (const Shunt* const shunt = std::get_if<Shunt>(&sensor.curve)) {
    const double per_volt = shunt->amperes / shunt->volts;
    const double amperes = electrical.value * shunt->amperes / shunt->volts;
    return Measured{amperes, hypotenuse({electrical.uncertainty * per_volt,
                                         amperes * sensor.tolerance / std::numbers::sqrt3})};
  }
  const auto temperature = std::visit(
      [&](const auto& curve) -> Result<Temperature> {
        if constexpr (std::is_same_v<std::decay_t<decltype(curve)>, Shunt>) {
          return Temperature{};  // was told above
        } else {
          return temperature_at(curve, electrical.value);
        }
      },
      sensor.curve);
  if (!temperature) return temperature.error();
  const PlatinumResistor* const platinum = std::get_if<PlatinumResistor>(&sensor.curve);
  const double graded = platinum == nullptr ? 0 : tolerance_at(*platinum, temperature->celsius);
  return Measured{
      temperature->celsius,
      hypotenuse({electrical.uncertainty * temperature->celsius_per_ohm,
                  sensor.tolerance / std::numbers::sqrt3, graded / std::numbers::sqrt3})};
}

Result<double> electrical_of(const Sensor& sensor, double quantity) {
  return std::visit(
      [&](const auto& curve) -> Result<double> {
        if constexpr (std::is_same_v<std::decay_t<decltype(curve)>, Shunt>) {
          return quantity * curve.volts / curve.amperes;
        } else {
          return ohms_at(curve, quantity);
        }
      },
      sensor.curve);
}

}  // namespace foundling
