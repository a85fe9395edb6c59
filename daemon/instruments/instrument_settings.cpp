#include "daemon/instruments/instrument_settings.h"

#include <limits>

#include "schemas/values/unit.h"

namespace foundling {

Result<Measured> InstrumentQuery::measured(double answer) const {
  Measured found{answer, uncertainty.value_or(std::numeric_limits<double>::quiet_NaN())};
  if (meter) {
    const auto of_meter = standard_uncertainty(*meter, answer, setting);
    if (!of_meter) return of_meter.error();
    found.uncertainty = *of_meter;
  }
  std::string_view in = unit;
  if (sensor) {
    const auto conversion = unit_conversion(unit, electrical_unit(*sensor));
    if (!conversion) {
      return Error{
          ErrorCode::usage,
          "the sensor is read in " + std::string(electrical_unit(*sensor)) + ", not in " + unit};
    }
    auto quantity = quantity_of(
        *sensor, {conversion->value(found.value), conversion->uncertainty(found.uncertainty)});
    if (!quantity) return quantity;
    found = *quantity;
    in = quantity_unit(*sensor);
  }
  const auto conversion = unit_conversion(in, channel.unit);
  if (!conversion) {
    return Error{ErrorCode::usage, "channel " + channel.name + " is in " + channel.unit +
                                       ", not in " + std::string(in)};
  }
  return Measured{conversion->value(found.value), conversion->uncertainty(found.uncertainty)};
}

}  // namespace foundling
