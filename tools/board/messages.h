// The invented board's messages: measured values in, payloads out. The layout is written down for a
// person in tools/board/README.md and as a signal map in captures_demo/tractor.signals; the tests
// hold all three against each other.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>

#include "schemas/values/frame.h"
#include "tools/board/measurement.h"
#include "tools/board/state_machine.h"

namespace foundling::board {

struct Payload {
  std::array<std::uint8_t, 8> bytes{};
  std::uint8_t length = 8;
};

// Everything that a message may speak of.
struct Picture {
  Measured measured;
  BoardState state = BoardState::self_test;
  std::uint32_t uptime_ms = 0;
  std::array<std::uint8_t, 3> wandering{};  // bytes that nothing on the bench moves
  std::uint16_t drift = 0;                  // a slow ambient converter value
  std::uint8_t event_code = 0;
  std::uint8_t event_count = 0;

  [[nodiscard]] bool measuring() const { return state != BoardState::self_test; }
};

// A periodic message. `sequence` counts the frames of this message since power-up.
struct MessagePlan {
  CanId id;
  std::string_view what;
  int period_ms;
  int first_ms;  // after power-up
  bool from_self_test;
  Payload (*encode)(const Picture& picture, std::uint32_t sequence);
};
[[nodiscard]] std::span<const MessagePlan> periodic_messages();

inline constexpr CanId event_id = CanId::standard(0x3F1);
[[nodiscard]] Payload encode_event(const Picture& picture);

// The nearest raw code of a value, held at the ends of the range.
[[nodiscard]] std::uint64_t to_raw(double value, double scale, double offset, int width,
                                   bool is_signed = false);

}  // namespace foundling::board
