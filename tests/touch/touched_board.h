// A random board that is touched: 200 bits that move by themselves (noise, drift, counters, flags
// that flip now and then, pages), and one bit that follows a thing which a hand brings back and
// forth, late and with one turn forgotten. Its own clock, no real time.
#pragma once

#include <cstdint>
#include <optional>
#include <random>
#include <vector>

#include "decoder/touch/touch_test.h"

namespace foundling::touch {

struct BoardKind {
  bool answers = true;  // else nothing of it follows the hand
  bool one_forgotten = true;
};

class TouchedBoard {
 public:
  TouchedBoard(std::uint64_t seed, BoardKind kind);

  [[nodiscard]] TouchTest test();  // after ten seconds of watching
  // One turn: draws the place, lets the hand act, adds the frames.
  void turn(TouchTest& test, int number);
  [[nodiscard]] std::optional<Candidate> truth() const;
  [[nodiscard]] int moving_bits() const { return moving_bits_; }

 private:
  struct Part {
    int kind = 0;
    Span span;
    double level = 0, speed = 0, noise = 0;
  };
  struct Message {
    MessageKey key;
    std::int64_t period_ns = 0, next_ns = 0;
    int pages = 1, page = 0;
    std::vector<Part> parts;
    std::uint64_t sent = 0;
  };

  double uniform() { return static_cast<double>(random_() >> 11U) * 0x1.0p-53; }
  int below(int count) { return static_cast<int>(uniform() * count); }
  double normal();
  void add_message();
  std::uint64_t value_of(Part& part, const Message& message);
  std::vector<Frame> run_to(std::int64_t t_ns);

  std::mt19937_64 random_;
  BoardKind kind_;
  Timing timing_;
  std::vector<Message> messages_;
  int moving_bits_ = 0;
  std::size_t true_message_ = 0;
  Span true_bit_;
  std::uint64_t state_ = 0;  // of the thing, as the board sees it
  std::int64_t now_ns_ = 0;
  std::int64_t change_ns_ = INT64_MAX;  // when the board will see it
  bool thing_ = false;
  int forgotten_ = -1;
  Selectors selectors_;
};

}  // namespace foundling::touch
