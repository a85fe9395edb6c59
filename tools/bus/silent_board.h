// What measurements on the bench say about a board of which nothing is heard, and what to try next.
// Pure: figures in, sentences out; asks for what has not been measured.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace foundling {

struct SupplyCurrent {  // over ten seconds or more, in A
  double least = 0;
  double most = 0;
  std::optional<double> period_s = {};  // of its swings, where several were seen
};

struct SilentBoard {
  std::optional<SupplyCurrent> current;
  std::optional<double> limit_a;        // that the supply is set to
  std::optional<double> high_v, low_v;  // against the board's ground, powered
  std::optional<double> between_ohm;    // the two wires, power off
};

enum class PairState : std::uint8_t {
  idle,     // both at rest: a transceiver is awake, nobody speaks
  asleep,   // both at ground
  talking,  // a meter's mean of frames
  swapped,  // the same, with the wires exchanged
  held,     // somebody holds the bus dominant
  faulty,   // one wire is where it should not be, or it is no CAN pair
};
enum class SupplyState : std::uint8_t { nothing, asleep, awake, swinging, at_limit };

[[nodiscard]] PairState pair_state(double high_v, double low_v);
[[nodiscard]] SupplyState supply_state(const SupplyCurrent& current, std::optional<double> limit_a);

// From an instrument's readings, in order of time: the swings are counted between a quarter and
// three quarters of the way. Nothing without readings.
struct TimedCurrent {
  std::int64_t t_ns = 0;
  double a = 0;
};
[[nodiscard]] std::optional<SupplyCurrent> supply_current(
    const std::vector<TimedCurrent>& readings);

// Lines of at most 80 columns: what each figure says, then what to do, in order.
[[nodiscard]] std::string explain_silence(const SilentBoard& board);

}  // namespace foundling
