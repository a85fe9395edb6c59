// Messages made up for the survey's tests: seeded, with whatever a test plants in them.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <random>
#include <string_view>

#include "decoder/analysis/survey.h"
#include "schemas/values/frame.h"

namespace foundling::test {

using Bytes = std::array<std::uint8_t, 64>;

// `fill` writes the payload of frame i. A frame every 10 ms.
MessageSeries make_message(CanId id, int length, std::size_t frames,
                           const std::function<void(std::size_t i, Bytes& bytes)>& fill);

// Takes each frame out with this probability.
MessageSeries with_losses(const MessageSeries& message, double probability, std::uint64_t seed);

// Noise of a measured value: a slow random walk, a noisy one, a ramp, a constant, random bytes.
class Decoys {
 public:
  explicit Decoys(std::uint64_t seed) : random_(seed) {}
  // Fills a 16-bit big-endian value at `byte` that walks by up to `step` a frame.
  void walk(Bytes& bytes, std::size_t byte, int step);
  void noise(Bytes& bytes, std::size_t byte);
  std::uint64_t below(std::uint64_t limit) { return random_() % limit; }

 private:
  std::mt19937_64 random_;
  std::array<int, 64> level_{};
};

Span span_of(std::string_view text);  // the span must parse

// A cyclic redundancy check bit by bit, written from its definition and apart from the survey's.
struct CrcParameters {
  int width;
  std::uint64_t polynomial, initial;
  bool reflected;
  std::uint64_t final_xor;
};
std::uint64_t bitwise_crc(const CrcParameters& crc, std::span<const std::uint8_t> bytes);

}  // namespace foundling::test
