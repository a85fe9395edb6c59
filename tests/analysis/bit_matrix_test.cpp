// The transposed payloads against the payloads themselves, bit by bit.
#include "decoder/analysis/bit_matrix.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

namespace foundling {
namespace {

// Frames with bits that never move, toggle, or are tossed, at times with pauses and bursts.
MessageSeries random_message(std::mt19937_64& random, std::size_t frames) {
  MessageSeries message;
  message.length = static_cast<std::uint8_t>(1 + random() % 64);
  std::vector<int> kinds(message.length * 8U);
  for (int& kind : kinds) kind = static_cast<int>(random() % 4);
  std::int64_t t = static_cast<std::int64_t>(random() % 1000) - 500;
  for (std::size_t i = 0; i < frames; ++i) {
    const auto pause = random() % 50;
    t += pause == 0 ? 1'000'000'000 : pause < 5 ? 0 : static_cast<std::int64_t>(random() % 20'000);
    message.t_ns.push_back(t);
    for (std::size_t byte = 0; byte < message.length; ++byte) {
      unsigned value = 0;
      for (std::size_t bit = 0; bit < 8; ++bit) {
        const int kind = kinds[byte * 8 + bit];
        const bool one = kind == 1 || (kind == 2 && i % 2 == 1) || (kind == 3 && random() % 3 == 0);
        value |= static_cast<unsigned>(one) << bit;
      }
      message.bytes.push_back(static_cast<std::uint8_t>(value));
    }
  }
  return message;
}

bool bit_of(const MessageSeries& message, std::size_t frame, int bit) {
  const auto byte = message.row(frame)[static_cast<std::size_t>(bit / 8)];
  return ((byte >> (bit % 8)) & 1U) != 0;
}

TEST_CASE("a bit matrix says of every bit what the payloads say") {
  std::mt19937_64 random(1);
  for (int round = 0; round < 60; ++round) {
    const std::size_t count = round < 3 ? static_cast<std::size_t>(round) : 1 + random() % 400;
    const MessageSeries message = random_message(random, count);
    std::vector<std::uint32_t> frames;  // one page of them
    for (std::uint32_t i = 0; i < count; ++i) {
      if (round % 2 == 0 || random() % 3 != 0) frames.push_back(i);
    }
    const BitMatrix matrix(message, frames);
    CAPTURE(round);
    REQUIRE(matrix.frames() == frames.size());
    REQUIRE(matrix.bits() == message.length * 8);

    std::vector<int> moving;
    const std::size_t from = frames.empty() ? 0 : random() % (frames.size() + 1);
    const std::size_t to = from + (frames.empty() ? 0 : random() % (frames.size() - from + 1));
    std::vector<std::uint32_t> ones_of_moving;
    for (int bit = 0; bit < matrix.bits(); ++bit) {
      std::uint32_t all = 0;
      std::uint32_t ones = 0;
      bool right = true;
      for (std::size_t i = 0; i < frames.size(); ++i) {
        const bool one = bit_of(message, frames[i], bit);
        right = right && matrix.at(bit, i) == one;
        all += one ? 1 : 0;
        ones += one && i >= from && i < to ? 1 : 0;
      }
      CHECK(right);
      CHECK(matrix.ones(bit, from, to) == ones);
      const bool moves = all != 0 && all != frames.size();
      CHECK(matrix.moves(bit) == moves);
      if (moves) {
        moving.push_back(bit);
        ones_of_moving.push_back(ones);
      }
    }
    CHECK(std::equal(moving.begin(), moving.end(), matrix.moving().begin(), matrix.moving().end()));
    std::vector<std::uint32_t> counts(moving.size());
    matrix.ones_of_moving(from, to, counts);
    CHECK(counts == ones_of_moving);

    if (frames.empty()) continue;
    for (int k = 0; k < 50; ++k) {
      const std::int64_t t =
          message.t_ns[random() % count] + static_cast<std::int64_t>(random() % 3) - 1;
      const auto times = matrix.times();
      CHECK(matrix.first_at(t) ==
            static_cast<std::size_t>(std::lower_bound(times.begin(), times.end(), t) -
                                     times.begin()));
    }
    const auto any = [&](int below) {
      return static_cast<int>(random() % static_cast<std::uint64_t>(below));
    };
    const auto order = any(2) == 0 ? ByteOrder::big : ByteOrder::little;
    const auto span = Span::from_lsb(bit_position(any(matrix.bits())), 1 + any(40), order);
    if (!span || span->last_byte() >= message.length) continue;
    const auto raw = matrix.raw(*span);
    REQUIRE(raw.size() == frames.size());
    for (std::size_t i = 0; i < raw.size(); ++i) {
      std::uint64_t expected = 0;
      for (int k = 0; k < span->width(); ++k) {
        const bool one = bit_of(message, frames[i], bit_index(span->position(k)));
        expected |= std::uint64_t{one} << k;
      }
      CHECK(raw[i] == expected);
    }
  }
}

}  // namespace
}  // namespace foundling
