#include "decoder/against/blocks.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <numeric>
#include <vector>

namespace foundling::held {
namespace {

// Counted over every choice of places for the blocks of one recording among all of them.
template <typename Holds>
double counted(std::size_t ka, std::size_t kb, Holds holds) {
  std::vector<int> in_b(ka + kb, 0);
  std::fill(in_b.begin() + static_cast<std::ptrdiff_t>(ka), in_b.end(), 1);
  double all = 0;
  double held = 0;
  do {
    all += 1;
    held += holds(in_b) ? 1 : 0;
  } while (std::next_permutation(in_b.begin(), in_b.end()));
  return held / all;
}

}  // namespace

TEST_CASE("the chance of order is what counting all orders gives") {
  for (std::size_t ka = 1; ka <= 6; ++ka) {
    for (std::size_t kb = 1; kb <= 6; ++kb) {
      const double expected = counted(ka, kb, [](const std::vector<int>& in_b) {
        return std::is_sorted(in_b.begin(), in_b.end()) ||
               std::is_sorted(in_b.rbegin(), in_b.rend());
      });
      CHECK(chance_of_order(ka, kb) == doctest::Approx(expected));
      for (std::size_t k = 1; k <= std::min(ka, kb); ++k) {  // the first k blocks show something
        const double one = counted(ka, kb, [k](const std::vector<int>& in_b) {
          const int n =
              std::accumulate(in_b.begin(), in_b.begin() + static_cast<std::ptrdiff_t>(k), 0);
          return n == 0 || n == static_cast<int>(k);
        });
        CHECK(chance_all_in_one(k, ka, kb) == doctest::Approx(one));
      }
    }
  }
}

TEST_CASE("blocks take in every value once, and no more than sixteen of them") {
  for (const std::size_t n :
       {std::size_t{1}, std::size_t{5}, std::size_t{16}, std::size_t{17}, std::size_t{1000}}) {
    std::size_t next = 0;
    for (std::size_t i = 0; i < block_count(n); ++i) {
      const auto [from, to] = block_of(n, i);
      CHECK(from == next);
      CHECK(to > from);
      next = to;
    }
    CHECK(next == n);
    CHECK(block_count(n) == std::min<std::size_t>(n, 16));
  }
}

TEST_CASE("a start-up and a wild frame do not move a block's mean, a drift does") {
  CHECK(middle_mean({65535, 20, 20, 20, 20, 20, 20, 0}) == doctest::Approx(20));
  CHECK(middle_mean({1, 2, 3, 4, 5, 6, 7, 8}) == doctest::Approx(4.5));
}

TEST_CASE("what drifts on from one recording into the next is not apart") {
  std::vector<double> first(16);
  std::vector<double> second(16);
  std::iota(first.begin(), first.end(), 0.0);
  std::iota(second.begin(), second.end(), 16.0);
  CHECK(levels_of(first, second).separate);
  CHECK_FALSE(levels_of(first, second).apart(1.5));
  for (double& value : second) value += 40;
  CHECK(levels_of(first, second).apart(1.5));
}

}  // namespace foundling::held
