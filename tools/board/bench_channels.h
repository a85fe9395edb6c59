// The bench of the virtual practitioner: which of the board's inputs are fed, with what instrument,
// over which levels, within which limits. All invented.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/values/reading.h"
#include "tools/board/inputs.h"

namespace foundling::board {

// What is known about an applied value: standard deviations, and the display's last digit.
struct Instrument {
  double gain;    // relative, drawn once a session
  double offset;  // unit of the channel, drawn once a session
  double noise;   // of one reading
  double last_digit;
};
[[nodiscard]] double standard_uncertainty(const Instrument& instrument, double value);

struct AnalogChannel {
  Input input;
  std::string_view name;
  std::string_view unit;
  double low, high;                // limits, never passed
  std::span<const double> levels;  // each as often as the others; each time moved by up to `spread`
  double spread;
  double mean_dwell;  // steps between changes
  Instrument instrument;
};
[[nodiscard]] std::span<const AnalogChannel> analog_channels();  // all but the cells

// Four settings feed all cells: each cell input is switched to one of them, or to the rest setting.
inline constexpr std::size_t cell_settings = 4;
[[nodiscard]] const AnalogChannel& cell_channel();  // `name` is a prefix
inline constexpr double cell_rest = 3.3;

struct SwitchChannel {
  Input input;
  std::string_view name;
  std::span<const std::string_view> words;  // by position 0, 1, ...
  double mean_dwell;
};
[[nodiscard]] std::span<const SwitchChannel> switch_channels();

// cell_01 .. cell_28; i is 0-based.
[[nodiscard]] std::string cell_name(std::size_t i);

// All channels in the order of Input, as the stimulus file has them: 41 of them, all of kind hold.
[[nodiscard]] std::vector<Channel> bench_channels();

}  // namespace foundling::board
