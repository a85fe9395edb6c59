#include "tools/exchange/stimulus_entry.h"

#include <cmath>
#include <limits>

#include "schemas/values/channel_name.h"
#include "schemas/values/unit.h"
#include "tools/exchange/number_text.h"

namespace foundling {
namespace {

Error usage(std::string message) { return {ErrorCode::usage, std::move(message)}; }

Result<StimulusEntry> state_entry(const TypedReading& typed, StimulusEntry entry) {
  const std::string fault = fault_of_state(typed.value);
  if (!fault.empty()) return usage("the word \"" + typed.value + "\" of a state " + fault);
  if (typed.uncertainty || typed.meter) return usage("a state has no uncertainty");
  if (typed.sensor) return usage("a state is read by no sensor");
  entry.reading.state = typed.value;
  return entry;
}

// Of the meter, in the value's unit.
Result<std::optional<double>> in_unit_of_value(const std::optional<std::string>& typed,
                                               const std::string& unit, const char* what) {
  if (!typed) return std::optional<double>();
  const auto parts = parse_leading_number(*typed);
  const auto conversion =
      parts && !parts->rest.empty() ? unit_conversion(parts->rest, unit) : UnitConversion{};
  if (parts && conversion && parts->number > 0) {
    return std::optional<double>(conversion->uncertainty(parts->number));
  }
  return usage(std::string("expected the meter's ") + what + " in " + unit + ", found \"" + *typed +
               '"');
}

// Standard, in the unit as typed; NaN unknown.
Result<double> uncertainty_of(const TypedReading& typed, const NumberAndRest& parts,
                              const std::string& unit) {
  if (typed.uncertainty && typed.meter) {
    return usage("an uncertainty and a meter's specification: only one of them can be true");
  }
  if (typed.uncertainty) {
    if (!(*typed.uncertainty >= 0) || !std::isfinite(*typed.uncertainty)) {
      return usage("an uncertainty is a finite number of 0 or more");
    }
    return *typed.uncertainty;
  }
  if (!typed.meter) {
    if (typed.range || typed.resolution) {
      return usage("a range or a resolution says nothing without the meter's specification");
    }
    return std::numeric_limits<double>::quiet_NaN();
  }
  const auto range = in_unit_of_value(typed.range, unit, "range");
  if (!range) return range.error();
  const auto resolution = in_unit_of_value(typed.resolution, unit, "resolution");
  if (!resolution) return resolution.error();
  MeterSetting setting{*range, *resolution, unit};
  if (!setting.resolution) {
    std::string digits = typed.value.substr(0, typed.value.size() - parts.rest.size());
    digits.erase(digits.find_last_not_of(' ') + 1);
    setting.resolution = resolution_of_text(digits);
  }
  return standard_uncertainty(*typed.meter, parts.number, setting);
}

Error other_unit(const Channel& channel, const std::string& unit) {
  return usage("channel " + channel.name + " is in " + channel.unit + ", not in " + unit);
}

// Through the sensor: from what the meter shows to the quantity, both with uncertainty.
Result<Measured> through(const Sensor& sensor, const Measured& shown, const std::string& unit) {
  const auto conversion = unit_conversion(unit, electrical_unit(sensor));
  if (!conversion) {
    return usage("the sensor is read in " + std::string(electrical_unit(sensor)) + ", not in " +
                 unit);
  }
  return quantity_of(sensor,
                     {conversion->value(shown.value), conversion->uncertainty(shown.uncertainty)});
}

Result<StimulusEntry> number_entry(const TypedReading& typed, const NumberAndRest& parts,
                                   std::string unit, StimulusEntry entry) {
  const auto uncertainty = uncertainty_of(typed, parts, unit);
  if (!uncertainty) return uncertainty.error();
  Measured measured{parts.number, *uncertainty};
  if (typed.sensor) {
    const auto quantity = through(*typed.sensor, measured, unit);
    if (!quantity) return quantity.error();
    measured = *quantity;
    unit = quantity_unit(*typed.sensor);
  }
  const auto conversion = unit_conversion(unit, entry.channel.unit);
  if (!conversion) return other_unit(entry.channel, unit);
  entry.reading.value = conversion->value(measured.value);
  entry.reading.uncertainty = conversion->uncertainty(measured.uncertainty);
  if (!std::isfinite(entry.reading.value) || std::isinf(entry.reading.uncertainty)) {
    return usage("too large a number in " + entry.channel.unit);
  }
  return entry;
}

// The unit as typed, beside the value or in it; empty when there is none.
Result<std::string> unit_of(const TypedReading& typed, const std::optional<NumberAndRest>& parts) {
  const std::string inside(parts ? parts->rest : std::string_view());
  if (!inside.empty() && typed.unit && *typed.unit != inside) {
    return usage("two units: \"" + inside + "\" and \"" + *typed.unit + "\"");
  }
  const std::string unit = typed.unit ? *typed.unit : inside;
  // The rest of a number that was written in another way is no unit: "12,5A" is not 12 of ",5A".
  if (!unit.empty() &&
      std::string_view("0123456789.,;:+-").find(unit.front()) != std::string::npos) {
    return usage("expected a number like 12.5 and its unit, found \"" + typed.value +
                 (typed.unit ? ' ' + *typed.unit : "") + "\"; decimals are written with a point");
  }
  return unit;
}

}  // namespace

Result<StimulusEntry> stimulus_entry(const TypedReading& typed,
                                     const std::optional<Channel>& known) {
  const std::string fault = fault_of_channel_name(typed.channel);
  if (!fault.empty()) return usage("a channel's name " + fault + ": \"" + typed.channel + '"');
  StimulusEntry entry;
  entry.channel = known.value_or(Channel{typed.channel, "", ChannelKind::hold});
  if (known && typed.kind && *typed.kind != known->kind) {
    return usage("channel " + known->name + " is of kind " +
                 (known->kind == ChannelKind::hold ? "hold" : "sample"));
  }
  if (!known && typed.kind) entry.channel.kind = *typed.kind;
  const auto parts = parse_leading_number(typed.value);
  const bool wants_state = typed.unit == "state" || (known && known->is_state());
  if (known && known->is_state() && typed.unit && *typed.unit != "state") {
    return usage("channel " + known->name + " takes words, not " + *typed.unit);
  }
  if (wants_state || (!parts && !known && !typed.unit)) {
    if (known && !known->is_state()) {
      return usage("channel " + known->name + " is in " + known->unit + ", it takes no words");
    }
    entry.channel.unit = "state";
    return state_entry(typed, std::move(entry));
  }
  if (!parts) return usage("expected a number, found \"" + typed.value + '"');
  const auto unit = unit_of(typed, parts);
  if (!unit) return unit.error();
  if (!known && unit->empty()) {
    return usage("channel " + typed.channel +
                 " is new: its unit is missing (write `state` for a word like 0 or 1)");
  }
  if (typed.sensor && unit->empty()) {
    return usage("with a sensor the value needs the unit that the meter shows: " +
                 std::string(electrical_unit(*typed.sensor)));
  }
  if (!known && typed.sensor) {
    entry.channel.unit = quantity_unit(*typed.sensor);
  } else if (!known) {
    entry.channel.unit = known_unit(*unit).value_or(*unit);
    if (!known_unit(*unit)) {
      entry.remarks.push_back("unit \"" + *unit + "\" is not known; it is kept as text");
    }
  }
  const std::string in = unit->empty() ? entry.channel.unit : *unit;
  return number_entry(typed, *parts, in, std::move(entry));
}

}  // namespace foundling
