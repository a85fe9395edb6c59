// A recording in equal stretches, and the question whether two recordings' stretches are apart: a
// bound by order, and a margin that no drift going on from one recording into the next passes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <utility>
#include <vector>

namespace foundling::held {

// 16 of each: a chance of 3e-9 for one comparison, still below 1e-5 for three thousand.
inline constexpr std::size_t most_blocks = 16;

// Where block i of `n` values begins and ends; there are min(n, most_blocks) blocks.
[[nodiscard]] std::size_t block_count(std::size_t n);
[[nodiscard]] std::pair<std::size_t, std::size_t> block_of(std::size_t n, std::size_t i);

// The mean of the middle half: keeps what a drift does, leaves out start-ups and wild frames.
[[nodiscard]] double middle_mean(std::vector<double> values);

// The middle mean of each block.
[[nodiscard]] std::vector<double> block_means(std::span<const double> values);

// That all blocks of one recording come before (or behind) all of the other: 2 / C(ka + kb, ka), if
// every order of the blocks is as likely.
[[nodiscard]] double chance_of_order(std::size_t ka, std::size_t kb);

// That `k` blocks which show something all lie in one of the recordings.
[[nodiscard]] double chance_all_in_one(std::size_t k, std::size_t ka, std::size_t kb);

// The recordings' levels differ by more than `least`, and by more than three times what either of
// them covers: what moves without jumps from the one into the other reaches twice, no more.
struct Levels {
  double a = 0, b = 0;    // the middle of the blocks
  double range = 0;       // of the blocks, the larger one
  bool separate = false;  // no block of one among those of the other
  [[nodiscard]] bool apart(double least) const;
};
[[nodiscard]] Levels levels_of(std::span<const double> blocks_a, std::span<const double> blocks_b);

// In proportion: every block of one is more than `ratio` times every block of the other.
[[nodiscard]] bool apart_in_ratio(std::span<const double> blocks_a,
                                  std::span<const double> blocks_b, double ratio);

}  // namespace foundling::held
