#include "tools/board/bench_channels.h"

#include <array>
#include <cmath>

namespace foundling::board {
namespace {

constexpr std::array<double, 12> current_levels{-390, -260, -170, -95, -45, -12,
                                                8,    40,   110,  190, 290, 400};
constexpr std::array<double, 12> voltage_levels{20, 31, 42, 52, 60, 68, 75, 82, 88, 94, 99, 104};
constexpr std::array<double, 10> cell_levels{2.00, 2.25, 2.50, 2.75, 2.95,
                                             3.10, 3.20, 3.40, 3.50, 3.65};
constexpr std::array<double, 12> temperature_levels{-34, -20, -8, 2,  12, 22,
                                                    30,  38,  47, 58, 72, 92};
constexpr std::array<double, 12> coolant_levels{-36, -25, -14, -4, 6, 16, 26, 35, 44, 55, 67, 83};
constexpr std::array<double, 12> pressure_levels{8,   45,  85,  120, 160, 200,
                                                 235, 270, 305, 340, 372, 400};
constexpr std::array<double, 11> supply_levels{9.2,  9.8,  10.6, 11.2, 11.8, 12.4,
                                               12.9, 13.5, 14.0, 14.6, 15.1};

constexpr Instrument decade{0, 0.08, 0.02, 0.01};
constexpr double module_dwell = 5;

constexpr AnalogChannel module_sensor(std::size_t i, std::string_view name) {
  return {static_cast<Input>(index(Input::first_temperature) + i),
          name,
          "°C",
          -38,
          95,
          temperature_levels,
          3,
          module_dwell,
          decade};
}

constexpr std::array analog{
    AnalogChannel{Input::pack_current,
                  "pack_current",
                  "A",
                  -410,
                  410,
                  current_levels,
                  5,
                  1,
                  {0.0002, 0.02, 0.01, 0.01}},
    AnalogChannel{Input::pack_voltage,
                  "pack_voltage",
                  "V",
                  18,
                  105,
                  voltage_levels,
                  1,
                  2,
                  {0.0002, 0.004, 0.002, 0.001}},
    module_sensor(0, "temp_1"),
    module_sensor(1, "temp_2"),
    module_sensor(2, "temp_3"),
    module_sensor(3, "temp_4"),
    AnalogChannel{Input::coolant_temperature, "coolant_temp", "°C", -38, 86, coolant_levels, 2.5,
                  module_dwell, decade},
    AnalogChannel{Input::coolant_pressure,
                  "coolant_pressure",
                  "kPa",
                  0,
                  405,
                  pressure_levels,
                  5,
                  3,
                  {0.0003, 0.02, 0.02, 0.01}},
    AnalogChannel{Input::supply_voltage,
                  "supply_voltage",
                  "V",
                  9,
                  15.4,
                  supply_levels,
                  0.15,
                  4,
                  {0.0002, 0.001, 0.001, 0.001}},
};

constexpr AnalogChannel cells{Input::first_cell,
                              "cell_",
                              "V",
                              2.0,
                              3.65,
                              cell_levels,
                              0.02,
                              1,
                              {0.0001, 0.0002, 0.0001, 0.0001}};

constexpr std::array<std::string_view, 2> contact_words{"open", "closed"};
constexpr std::array<std::string_view, 3> key_words{"off", "run", "charge"};
constexpr std::array<SwitchChannel, 4> switches{{
    {Input::interlock, "interlock", contact_words, 4},
    {Input::contactor_positive_feedback, "contactor_positive", contact_words, 4},
    {Input::contactor_negative_feedback, "contactor_negative", contact_words, 4},
    {Input::key_switch, "key_switch", key_words, 4},
}};

}  // namespace

double standard_uncertainty(const Instrument& instrument, double value) {
  const double gain = instrument.gain * value;
  return std::sqrt(gain * gain + instrument.offset * instrument.offset +
                   instrument.noise * instrument.noise +
                   instrument.last_digit * instrument.last_digit / 12);
}

std::span<const AnalogChannel> analog_channels() { return analog; }
const AnalogChannel& cell_channel() { return cells; }
std::span<const SwitchChannel> switch_channels() { return switches; }

std::string cell_name(std::size_t i) {
  std::string name{cells.name};
  if (i + 1 < 10) name += '0';
  return name + std::to_string(i + 1);
}

std::vector<Channel> bench_channels() {
  std::vector<Channel> all;
  const auto add = [&](std::string name, std::string_view unit) {
    all.push_back({std::move(name), std::string(unit), ChannelKind::hold});
  };
  for (const AnalogChannel& channel : std::span(analog).first(2)) {
    add(std::string(channel.name), channel.unit);
  }
  for (std::size_t i = 0; i < cell_count; ++i) add(cell_name(i), cells.unit);
  for (const AnalogChannel& channel : std::span(analog).subspan(2)) {
    add(std::string(channel.name), channel.unit);
  }
  for (const SwitchChannel& channel : switches) add(std::string(channel.name), "state");
  return all;
}

}  // namespace foundling::board
