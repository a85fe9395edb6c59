#include "tools/exchange/stimulus_entry.h"

#include "schemas/values/unit.h"
#include "tools/exchange/number_text.h"
#include "tools/exchange/stimulus_csv.h"

namespace foundling {
namespace {

Error usage(std::string message) { return {ErrorCode::usage, std::move(message)}; }

Result<StimulusEntry> state_entry(const TypedReading& typed, StimulusEntry entry) {
  const std::string fault = fault_of_state(typed.value);
  if (!fault.empty()) return usage("the word \"" + typed.value + "\" of a state " + fault);
  if (typed.uncertainty) return usage("a state has no uncertainty");
  entry.reading.state = typed.value;
  return entry;
}

Result<StimulusEntry> number_entry(const TypedReading& typed, const NumberAndRest& parts,
                                   const std::string& unit, StimulusEntry entry) {
  const auto conversion = unit_conversion(unit, entry.channel.unit);
  if (!conversion) {
    return usage("channel " + entry.channel.name + " is in " + entry.channel.unit + ", not in " +
                 unit);
  }
  entry.reading.value = conversion->value(parts.number);
  if (typed.uncertainty) {
    if (!(*typed.uncertainty >= 0)) return usage("an uncertainty is 0 or more");
    entry.reading.uncertainty = conversion->uncertainty(*typed.uncertainty);
  }
  return entry;
}

// The unit as typed, beside the value or in it; empty when there is none.
Result<std::string> unit_of(const TypedReading& typed, const std::optional<NumberAndRest>& parts) {
  const std::string inside(parts ? parts->rest : std::string_view());
  if (!inside.empty() && typed.unit && *typed.unit != inside) {
    return usage("two units: \"" + inside + "\" and \"" + *typed.unit + "\"");
  }
  return typed.unit ? *typed.unit : inside;
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
  if (!known) {
    entry.channel.unit = known_unit(*unit).value_or(*unit);
    if (!known_unit(*unit)) {
      entry.remarks.push_back("unit \"" + *unit + "\" is not known; it is kept as text");
    }
  }
  const std::string in = unit->empty() ? entry.channel.unit : *unit;
  return number_entry(typed, *parts, in, std::move(entry));
}

}  // namespace foundling
