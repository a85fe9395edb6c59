#include "tools/board/measurement.h"

#include <algorithm>
#include <numeric>

#include "tools/board/lfp_cell.h"

namespace foundling::board {
namespace {

constexpr double tick_s = static_cast<double>(tick_ns) * 1e-9;
constexpr int debounce_ticks = 4;

}  // namespace

// All invented; noise is one to three steps of the field that carries the value, as converters with
// a few bits to spare have it.
Sensor sensor_of(Input input) {
  if (input == Input::pack_current) return {0.03, 0.25, 0.001, 0.04, 1};
  if (input == Input::pack_voltage) return {0.08, 0.07, 0.001, 0.04, 1};
  if (input < Input::first_temperature) return {0.05, 0.0009, 0.0003, 0.0004, 20};
  if (input < Input::coolant_temperature) return {0.6, 0.4, 0.001, 0.3, 50};
  if (input == Input::coolant_temperature) return {0.4, 0.35, 0.001, 0.15, 50};
  if (input == Input::coolant_pressure) return {0.06, 0.2, 0.0008, 0.02, 10};
  if (input == Input::supply_voltage) return {0.04, 0.006, 0.0008, 0.001, 10};
  return {2.0, 0.4, 0.0, 0.0, 50};  // ambient
}

bool is_analog(std::size_t input) {
  return input < index(Input::interlock) || input == index(Input::ambient);
}

Measurement::Measurement(std::uint64_t board_seed) : slow_current_(0.25, tick_s) {
  Noise made(board_seed);
  for (std::size_t i = 0; i < input_count; ++i) {
    const Sensor sensor = sensor_of(static_cast<Input>(i));
    channels_.push_back({LowPass(sensor.time_constant_s, tick_s), sensor,
                         1 + made.uniform(-sensor.gain_bound, sensor.gain_bound),
                         made.uniform(-sensor.offset_bound, sensor.offset_bound)});
  }
}

const Measured& Measurement::update(const Inputs& terminals, Noise& noise) {
  convert(terminals, noise);
  debounce(terminals);
  compute();
  ++tick_;
  return measured_;
}

void Measurement::convert(const Inputs& terminals, Noise& noise) {
  for (std::size_t i = 0; i < input_count; ++i) {
    if (!is_analog(i)) continue;
    Channel& channel = channels_[i];
    const double filtered = channel.filter.update(terminals.values[i]);
    if (tick_ % channel.sensor.scan_ticks != 0) continue;
    measured_.now.values[i] =
        filtered * channel.gain + channel.offset + channel.sensor.noise * noise.gaussian();
  }
}

void Measurement::debounce(const Inputs& terminals) {
  for (std::size_t i = 0; i < input_count; ++i) {
    if (is_analog(i)) continue;
    Debounce& state = debounce_[i];
    state.ticks = terminals.values[i] == state.candidate ? state.ticks + 1 : 0;
    state.candidate = terminals.values[i];
    if (state.ticks >= debounce_ticks || tick_ == 0) measured_.now.values[i] = state.candidate;
  }
}

void Measurement::compute() {
  const Inputs& now = measured_.now;
  measured_.current_slow = slow_current_.update(now[Input::pack_current]);
  state_of_charge_ = std::clamp(
      count_charge(state_of_charge_, -now[Input::pack_current], tick_s, pack_capacity_ah), 0.0,
      1.0);
  measured_.charge_ah = state_of_charge_ * pack_capacity_ah;
  measured_.power_kw = now[Input::pack_current] * now[Input::pack_voltage] / 1000;
  const auto first = now.values.begin() + static_cast<std::ptrdiff_t>(index(Input::first_cell));
  const auto last = first + cell_count;
  measured_.cell_sum = std::accumulate(first, last, 0.0);
  measured_.cell_mean = measured_.cell_sum / cell_count;
  measured_.lowest_cell = static_cast<std::size_t>(std::min_element(first, last) - first);
  measured_.highest_cell = static_cast<std::size_t>(std::max_element(first, last) - first);
}

}  // namespace foundling::board
