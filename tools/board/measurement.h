// What the board makes of its terminals: filters, converter noise, the errors of one particular
// board (fixed by its seed), scan cycles, debouncing, charge counting, and what it computes.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "tools/board/inputs.h"
#include "tools/board/low_pass.h"
#include "tools/board/noise.h"

namespace foundling::board {

inline constexpr std::int64_t tick_ns = 5'000'000;
inline constexpr double pack_capacity_ah = 100;

// An analog input of the board. Errors are drawn once a board, uniformly within the bounds.
struct Sensor {
  double time_constant_s;
  double noise;         // standard deviation of one conversion
  double gain_bound;    // relative
  double offset_bound;  // in the input's unit
  int scan_ticks;       // converted every so many ticks
};
[[nodiscard]] Sensor sensor_of(Input input);
[[nodiscard]] bool is_analog(std::size_t input);

struct Measured {
  Inputs now;               // filtered, noisy, with the board's errors; not yet quantised
  double current_slow = 0;  // A, for the slow message
  double charge_ah = 0;     // left in the pack, counted
  double power_kw = 0;
  double cell_sum = 0;
  double cell_mean = 0;
  std::size_t lowest_cell = 0;  // 0-based
  std::size_t highest_cell = 0;
};

class Measurement {
 public:
  explicit Measurement(std::uint64_t board_seed);

  // One tick further; `noise` is the converters'.
  const Measured& update(const Inputs& terminals, Noise& noise);

 private:
  struct Channel {
    LowPass filter;
    Sensor sensor;
    double gain;
    double offset;
  };
  struct Debounce {
    double candidate = 0;
    int ticks = 0;
  };
  void convert(const Inputs& terminals, Noise& noise);
  void debounce(const Inputs& terminals);
  void compute();

  std::vector<Channel> channels_;  // analog inputs, in the order of Input
  std::array<Debounce, input_count> debounce_{};
  LowPass slow_current_;
  Measured measured_;
  double state_of_charge_ = 0.62;
  std::int64_t tick_ = 0;
};

}  // namespace foundling::board
