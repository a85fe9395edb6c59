#include "tests/analysis/observed_board.h"

#include <cmath>
#include <random>

namespace foundling::test {

ObservedBoard observed_board(std::uint64_t seed, int levels, double held_s,
                             const std::function<std::uint16_t(double, std::uint16_t)>& says) {
  std::mt19937_64 random(seed);
  ObservedBoard board;
  ChannelSeries channel{{"cell_01", "V", ChannelKind::hold}, {}};
  std::vector<double> values;
  double t = 0;
  for (int i = 0; i < levels; ++i) {
    double volts = 0;
    do {
      volts = std::round(2800 + 1400 * std::generate_canonical<double, 53>(random)) / 1000;
    } while (!values.empty() && std::abs(volts - values.back()) < 0.05);
    values.push_back(volts);
    board.times_s.push_back(t);
    Reading reading;
    reading.t_ns = static_cast<std::int64_t>(t * 1e9);
    reading.value = volts;
    reading.uncertainty = 0.0005;
    reading.id = i + 1;
    channel.readings.push_back(reading);
    t += held_s * (0.9 + 0.3 * std::generate_canonical<double, 53>(random));
  }
  MessageSeries message;
  message.id = CanId::standard(0x1A4);
  message.length = 4;
  std::size_t k = 0;
  for (double at = 0.01; at < t; at += 0.05) {
    while (k + 1 < values.size() && board.times_s[k + 1] + 0.1 <= at) ++k;
    auto raw = static_cast<std::uint16_t>(std::lround(values[k] * 1000));
    if (says) raw = says(at, raw);
    message.t_ns.push_back(static_cast<std::int64_t>(at * 1e9));
    message.bytes.insert(message.bytes.end(),
                         {static_cast<std::uint8_t>(raw >> 8), static_cast<std::uint8_t>(raw & 255),
                          static_cast<std::uint8_t>(random() & 255), 0x5A});
  }
  board.messages.push_back(std::move(message));
  board.channels.push_back(std::move(channel));
  return board;
}

}  // namespace foundling::test
