// One reading as a person types it: a channel, a value with or without its unit, how well known.
// Pure. Refuses what is neither a number with a unit nor a word, and what the channel cannot take.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "schemas/values/meter_specification.h"
#include "schemas/values/reading.h"
#include "schemas/values/result.h"
#include "schemas/values/sensor.h"

namespace foundling {

struct TypedReading {
  std::string channel;
  std::string value;                  // "12.5", "12.5A", "12.5 A", "closed"
  std::optional<std::string> unit;    // of its own word; "state" for a word
  std::optional<double> uncertainty;  // standard, in the unit as typed
  std::optional<ChannelKind> kind;    // nothing: as the channel is, else hold
  // Between the quantity and the meter: then the value is what the meter shows, with its unit.
  std::optional<Sensor> sensor{};
  std::optional<MeterSpecification> meter{};  // instead of an uncertainty
  // Of the meter, "20V", "0.01"; without its own unit in the value's. Resolution: else the last
  // digit of the value as typed.
  std::optional<std::string> range{}, resolution{};
};

struct StimulusEntry {
  Channel channel;
  Reading reading;  // in the channel's unit; t_ns is left to the caller
  std::vector<std::string> remarks;
};

// `known`: the channel as the capture has it, if it has.
Result<StimulusEntry> stimulus_entry(const TypedReading& typed,
                                     const std::optional<Channel>& known);

}  // namespace foundling
