#include "tools/live/metric_family.h"

#include <array>

namespace foundling {
namespace {

constexpr std::array<MetricFamily, 12> families{{
    {"foundling_voltage_volts", "volts", "V", 1, 1, "Voltages."},
    {"foundling_current_amperes", "amperes", "A", 1, 1, "Currents."},
    {"foundling_power_watts", "watts", "W", 1, 1, "Powers."},
    {"foundling_energy_joules", "joules", "Wh", 3600, 1, "Energies, as they stand."},
    {"foundling_charge_coulombs", "coulombs", "Ah", 3600, 1, "Charges, as they stand."},
    {"foundling_temperature_celsius", "celsius", "°C", 1, 1, "Temperatures."},
    {"foundling_resistance_ohms", "ohms", "Ω", 1, 1, "Resistances."},
    {"foundling_fraction_ratio", "ratio", "%", 1, 100, "Shares; 1 is 100 %."},
    {"foundling_pressure_pascals", "pascals", "Pa", 1, 1, "Pressures."},
    {"foundling_frequency_hertz", "hertz", "Hz", 1, 1, "Frequencies; of turns, in a second."},
    {"foundling_flow_cubic_meters_per_second", "cubic_meters_per_second", "l/min", 1, 60000,
     "Flows."},
    {"foundling_duration_seconds", "seconds", "s", 1, 1, "Lengths of time."},
}};

}  // namespace

std::span<const MetricFamily> metric_families() { return families; }

double InFamily::value(double number) const {
  const MetricFamily& to = families.at(family);
  return to_ours.value(number) * to.multiply / to.divide;
}

std::optional<InFamily> family_of(std::string_view unit) {
  for (std::size_t i = 0; i < families.size(); ++i) {
    const auto conversion = unit_conversion(unit, families[i].of);
    if (conversion) return InFamily{i, *conversion};
  }
  return {};
}

}  // namespace foundling
