#include "tests/analysis/survey_board.h"

#include <doctest/doctest.h>

namespace foundling::test {

MessageSeries make_message(CanId id, int length, std::size_t frames,
                           const std::function<void(std::size_t i, Bytes& bytes)>& fill) {
  MessageSeries message;
  message.id = id;
  message.length = static_cast<std::uint8_t>(length);
  Bytes bytes{};
  for (std::size_t i = 0; i < frames; ++i) {
    fill(i, bytes);
    message.t_ns.push_back(static_cast<std::int64_t>(i) * 10'000'000);
    message.bytes.insert(message.bytes.end(), bytes.begin(), bytes.begin() + length);
  }
  return message;
}

MessageSeries with_losses(const MessageSeries& message, double probability, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::bernoulli_distribution lost(probability);
  MessageSeries rest = message;
  rest.t_ns.clear();
  rest.bytes.clear();
  for (std::size_t i = 0; i < message.size(); ++i) {
    if (lost(random)) continue;
    rest.t_ns.push_back(message.t_ns[i]);
    const auto row = message.row(i);
    rest.bytes.insert(rest.bytes.end(), row.begin(), row.end());
  }
  return rest;
}

void Decoys::walk(Bytes& bytes, std::size_t byte, int step) {
  int& level = level_[byte];
  if (level == 0) level = 1000 + static_cast<int>(below(40'000));
  level += static_cast<int>(below(static_cast<std::uint64_t>(2 * step + 1))) - step;
  bytes[byte] = static_cast<std::uint8_t>(level >> 8);
  bytes[byte + 1] = static_cast<std::uint8_t>(level);
}

void Decoys::noise(Bytes& bytes, std::size_t byte) {
  bytes[byte] = static_cast<std::uint8_t>(random_());
}

Span span_of(std::string_view text) {
  const auto span = parse_span(text);
  REQUIRE(span);
  return *span;
}

std::uint64_t bitwise_crc(const CrcParameters& crc, std::span<const std::uint8_t> bytes) {
  const std::uint64_t top = std::uint64_t{1} << (crc.width - 1);
  const std::uint64_t mask = top | (top - 1);
  std::uint64_t value = crc.initial;
  for (const std::uint8_t byte : bytes) {
    for (int i = 0; i < 8; ++i) {
      const int bit = crc.reflected ? i : 7 - i;
      const bool in = ((byte >> bit) & 1) != 0;
      const bool out = (value & top) != 0;
      value = (value << 1) & mask;
      if (in != out) value ^= crc.polynomial;
    }
  }
  if (crc.reflected) {
    std::uint64_t mirror = 0;
    for (int i = 0; i < crc.width; ++i) mirror |= ((value >> i) & 1) << (crc.width - 1 - i);
    value = mirror;
  }
  return value ^ crc.final_xor;
}

}  // namespace foundling::test
