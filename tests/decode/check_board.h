// A planted board with one cell and one relay, and readings of it, to hold a map of it against.
#pragma once

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <functional>
#include <random>
#include <string>
#include <vector>

#include "decoder/decode/check.h"

namespace foundling::check_board {

constexpr std::int64_t second = 1'000'000'000;
constexpr double hold_s = 8;

constexpr std::uint64_t not_available = 0xFFFF;

struct Board {
  double gain = 1;
  double bias = 0;
  double scale = 0.001;
  double noise = 0;  // uniform, in steps of the raw value, to either side
  double seconds = 16 * hold_s;
  std::function<double(double)> truth;  // the cell, by the second
  std::function<bool(double)> closed = [](double) { return false; };
  std::function<bool(double)> absent = [](double) { return false; };
};

inline SignalMap map_of(const Board& board) {
  SignalMap map;
  MessageEntry message;
  message.id = CanId::standard(0x1B0);
  SignalEntry entry;
  entry.name = "cell_01";
  entry.span = *parse_span("0.7..1.0");
  entry.scale = board.scale;
  entry.unit = "V";
  entry.reserved = {{{not_available, not_available}, "not-available"}};
  message.signals.push_back(entry);
  SignalEntry relay;
  relay.name = "relay";
  relay.span = *parse_span("2.1..2.0");
  relay.states = {{0, "open"}, {1, "closed"}};
  relay.reserved = {{{3, 3}, "not-available"}};
  message.signals.push_back(relay);
  map.messages.push_back(message);
  return map;
}

// A frame every 20 ms.
inline MessageSeries frames_of(const Board& board) {
  MessageSeries message;
  message.id = CanId::standard(0x1B0);
  message.length = 8;
  std::mt19937 random(5);
  std::uniform_real_distribution<double> noise(-board.noise, board.noise);
  for (double t = 0.003; t < board.seconds; t += 0.02) {
    const double value = board.truth ? board.gain * board.truth(t) + board.bias : 0;
    auto raw = static_cast<std::uint64_t>(std::llround(value / board.scale + noise(random)));
    if (board.absent(t)) raw = not_available;
    std::vector<std::uint8_t> payload(8, 0);
    insert(*parse_span("0.7..1.0"), raw, payload);
    payload[2] = board.absent(t) ? 3 : board.closed(t) ? 1 : 0;
    message.t_ns.push_back(static_cast<std::int64_t>(t * 1e9));
    message.bytes.insert(message.bytes.end(), payload.begin(), payload.end());
  }
  return message;
}

// Plateaus in mixed order between 2 V and 3.6 V.
inline double level(int i) { return 2 + 0.1 * ((i * 7) % 17); }
inline double stepped(double t) { return level(static_cast<int>(t / hold_s)); }

// Written down `late_s` after each step.
inline ChannelSeries cell(
    int count, const std::function<double(int)>& late_s = [](int) { return 0.0; },
    const std::function<double(int)>& value = level) {
  ChannelSeries channel{{"cell_01", "V", ChannelKind::hold}, {}};
  for (int i = 0; i < count; ++i) {
    Reading reading;
    reading.t_ns = static_cast<std::int64_t>((i * hold_s + late_s(i)) * 1e9);
    reading.value = value(i);
    reading.uncertainty = 0.0005;
    reading.id = 100 + i;
    channel.readings.push_back(reading);
  }
  return channel;
}

inline SignalCheck checked(const Board& board, const ChannelSeries& channel,
                           const CheckOptions& options = {}) {
  const MapCheck check =
      check_map(map_of(board), std::vector{frames_of(board)}, std::vector{channel}, options);
  REQUIRE(check.signals.size() == 1);
  return check.signals[0];
}

inline Board right() {
  Board board;
  board.truth = stepped;
  return board;
}

// Slow and fast at once, read once a second.
inline double moving(double t) { return 2.8 + 0.5 * std::sin(t / 9) + 0.2 * std::sin(t / 2.3); }

inline ChannelSeries moving_cell(int count) {
  ChannelSeries channel{{"cell_01", "V", ChannelKind::sample}, {}};
  for (int i = 0; i < count; ++i) {
    Reading reading;
    reading.t_ns = (i + 2) * second;
    reading.value = moving(i + 2);
    reading.uncertainty = 0.0005;
    reading.id = 100 + i;
    channel.readings.push_back(reading);
  }
  return channel;
}

}  // namespace foundling::check_board
