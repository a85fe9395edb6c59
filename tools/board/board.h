// The simulated control board of an invented electric orchard tractor: terminals in, frames out,
// one tick at a time. Pure: no clock, no file, no socket; seeds decide everything. It measures and
// speaks; it commands nothing and answers nothing.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "schemas/values/frame.h"
#include "tools/board/inputs.h"
#include "tools/board/measurement.h"
#include "tools/board/messages.h"
#include "tools/board/noise.h"
#include "tools/board/state_machine.h"

namespace foundling::board {

inline constexpr std::int64_t bus_bit_rate = 500'000;

struct BoardOptions {
  std::uint64_t board_seed = 28;  // this board's errors of gain and offset
  std::uint64_t run_seed = 1;     // its noise and jitter of one run
  int slowdown = 1;               // all periods times this (for small recordings)
  std::int64_t power_up_ns = 300'000'000;
};

class Board {
 public:
  explicit Board(const BoardOptions& options);

  // The next tick [n * tick_ns, (n + 1) * tick_ns) with these terminals; its frames are appended in
  // order of time. Times are multiples of 1 µs, when the frame has left the bus.
  void tick(const Inputs& terminals, std::vector<Frame>& frames);

 private:
  struct Due {
    std::int64_t t_ns;
    CanId id;
    Payload payload;
  };
  struct Slot {
    std::int64_t next_ns;
    std::uint32_t sequence = 0;
  };
  void wander();
  void note_events(const Inputs& before, std::int64_t t_ns, std::vector<Due>& due);
  void collect_periodic(std::int64_t t_ns, std::vector<Due>& due);
  void send(std::vector<Due>& due, std::vector<Frame>& frames);

  BoardOptions options_;
  Noise noise_;
  Measurement measurement_;
  StateMachine machine_;
  Picture picture_;
  std::vector<Slot> slots_;
  std::array<double, 3> walk_{90, 140, 60};
  double drift_ = 21'000;
  std::int64_t tick_ = 0;
  std::int64_t bus_free_ns_ = 0;
};

}  // namespace foundling::board
