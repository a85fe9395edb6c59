// The board's own state: what it says it is doing, a quarter of a second behind its inputs.
#pragma once

#include <cstdint>

#include "tools/board/inputs.h"

namespace foundling::board {

enum class BoardState : std::uint8_t {
  self_test = 0x01,
  standby = 0x02,
  ready = 0x03,
  drive = 0x04,
  charge = 0x05,
  interlock_fault = 0x0E,
};

class StateMachine {
 public:
  static constexpr int self_test_ticks = 300;  // 1.5 s
  static constexpr int delay_ticks = 50;       // 250 ms

  BoardState update(const Inputs& now) {
    if (ticks_ < self_test_ticks) {
      ++ticks_;
      return state_;
    }
    const BoardState wanted = wanted_by(now);
    waited_ = wanted == pending_ ? waited_ + 1 : 0;
    pending_ = wanted;
    if (waited_ >= delay_ticks || state_ == BoardState::self_test) state_ = pending_;
    return state_;
  }

 private:
  static BoardState wanted_by(const Inputs& now) {
    if (now[Input::key_switch] < 0.5) return BoardState::standby;
    if (!now.closed(Input::interlock)) return BoardState::interlock_fault;
    if (now[Input::key_switch] > 1.5) return BoardState::charge;
    const bool both = now.closed(Input::contactor_positive_feedback) &&
                      now.closed(Input::contactor_negative_feedback);
    return both ? BoardState::drive : BoardState::ready;
  }

  BoardState state_ = BoardState::self_test;
  BoardState pending_ = BoardState::self_test;
  int ticks_ = 0;
  int waited_ = 0;
};

}  // namespace foundling::board
