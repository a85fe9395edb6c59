// A bit that stands in one recording and flips in the other: news if it blinks by a clock, none if
// it wavers about a limit.
#include <doctest/doctest.h>

#include <algorithm>
#include <functional>
#include <random>

#include "tests/against/steady_board.h"

namespace foundling::test {
namespace {

// Bit 2.0 as the runs say, one length in frames after the other; none: it stays clear.
Messages with_runs(const std::function<std::size_t()>& next_run) {
  MessageSeries message;
  message.id = CanId::standard(0x123);
  message.length = 8;
  std::uint8_t bit = 0;
  std::size_t left = next_run();
  for (std::size_t i = 0; i < 3000; ++i) {
    if (left-- == 0) {
      bit ^= 1U;
      left = next_run() - 1;
    }
    message.t_ns.push_back(static_cast<std::int64_t>(i) * 20'000'000);
    message.bytes.insert(message.bytes.end(), {0x11, 0x22, bit, 0x44, 0x55, 0x66, 0x77, 0x10});
  }
  return {message};
}

bool is_news(const Messages& a, const Messages& b) {
  return std::ranges::any_of(held(a, b).differences, [](const Difference& one) {
    return one.kind == DifferenceKind::moves;
  });
}

}  // namespace

TEST_CASE("a bit that blinks evenly is news, one that wavers is not, however often it flips") {
  const Messages still = with_runs([] { return std::size_t{100'000}; });
  CHECK(is_news(still, with_runs([] { return std::size_t{20}; })));
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    CHECK_FALSE(is_news(still, with_runs([&] { return 5 + random() % 31; })));
  }
}

}  // namespace foundling::test
