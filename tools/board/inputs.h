// What is connected to the simulated board's terminals at one moment. Switch inputs are numbers:
// 0 open, 1 closed; the key 0 off, 1 run, 2 charge.
#pragma once

#include <array>
#include <cstddef>

namespace foundling::board {

inline constexpr std::size_t cell_count = 28;
inline constexpr std::size_t temperature_count = 4;

// Cells 1..28 are first_cell .. first_cell + 27, the module sensors likewise.
enum class Input : std::size_t {
  pack_current,  // A, positive charges the pack; on the bench millivolts on the shunt leads
  pack_voltage,  // V, the board's own high-voltage sense input, apart from the cells
  first_cell,    // V
  first_temperature = first_cell + cell_count,  // °C
  coolant_temperature = first_temperature + temperature_count,
  coolant_pressure,  // kPa
  supply_voltage,    // V, the board's own 12 V supply
  interlock,
  contactor_positive_feedback,
  contactor_negative_feedback,
  key_switch,
  ambient,  // °C around the board; nobody controls it
  count
};

inline constexpr auto input_count = static_cast<std::size_t>(Input::count);

[[nodiscard]] constexpr std::size_t index(Input input) { return static_cast<std::size_t>(input); }

struct Inputs {
  std::array<double, input_count> values{};

  double& operator[](Input input) { return values[index(input)]; }
  double operator[](Input input) const { return values[index(input)]; }
  double& cell(std::size_t i) { return values[index(Input::first_cell) + i]; }
  [[nodiscard]] double cell(std::size_t i) const { return values[index(Input::first_cell) + i]; }
  [[nodiscard]] double temperature(std::size_t i) const {
    return values[index(Input::first_temperature) + i];
  }
  [[nodiscard]] bool closed(Input input) const { return values[index(input)] > 0.5; }
};

}  // namespace foundling::board
