#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>
#include <random>

#include "decoder/analysis/channel_search.h"
#include "decoder/analysis/curve_search.h"

namespace foundling {
namespace {

// Which block each row belongs to: plateaus keep their rows together, and a sampled channel's
// readings go in stretches, since neighbours are alike.
std::vector<std::size_t> blocks_of(const RowSet& set) {
  std::vector<std::size_t> block;
  constexpr std::size_t stretches = 24;
  for (std::size_t i = 0; i < set.rows.size(); ++i) {
    block.push_back(set.kind == ChannelKind::hold ? static_cast<std::size_t>(set.rows[i].plateau)
                                                  : i * stretches / set.rows.size());
  }
  return block;
}

// One redrawn stimulus: the values of whole blocks change places.
std::vector<double> redraw(const RowSet& set, const std::vector<std::size_t>& block,
                           std::mt19937_64& random) {
  const std::size_t blocks = block.empty() ? 0 : block.back() + 1;
  std::vector<std::size_t> order(blocks);
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::shuffle(order.begin(), order.end(), random);
  std::vector<std::vector<double>> values(blocks);
  for (std::size_t i = 0; i < block.size(); ++i) values[block[i]].push_back(set.rows[i].x);
  std::vector<double> x;
  if (set.kind == ChannelKind::hold) {
    for (const std::size_t b : block) {
      const auto& source = values[order[b]];
      x.push_back(source.empty() ? 0 : source.front());
    }
  } else {
    for (const std::size_t b : order) x.insert(x.end(), values[b].begin(), values[b].end());
  }
  return x;
}

// `as_good(moments, table, x)`: whether the stream has a field that follows these x as closely.
template <typename AsGood>
double chance(std::span<const Stream> streams, const ChannelSearch& found, std::uint64_t seed,
              int draws, AsGood as_good) {
  std::mt19937_64 random(seed);
  const auto block = blocks_of(found.rows);
  std::vector<std::vector<double>> redrawn;
  redrawn.reserve(static_cast<std::size_t>(draws));
  for (int k = 0; k < draws; ++k) redrawn.push_back(redraw(found.rows, block, random));
  std::vector<bool> better(redrawn.size(), false);
  for (const Stream& stream : streams) {
    Moments m = row_means(stream, found.rows, found.delay_ns);
    std::optional<SpanTable> table;
    if (!covers(m, found.rows) || m.bits.empty()) continue;
    for (std::size_t k = 0; k < redrawn.size(); ++k) {
      if (better[k]) continue;
      std::vector<double> x;
      for (const std::size_t i : m.rows) x.push_back(redrawn[k][i]);
      better[k] = as_good(m, table, x);
    }
  }
  const auto count = std::count(better.begin(), better.end(), true);
  return (1.0 + static_cast<double>(count)) / (1.0 + draws);
}

}  // namespace

double chance_of(std::span<const Stream> streams, const ChannelSearch& found, double r2,
                 std::uint64_t seed, int draws) {
  return chance(streams, found, seed, draws, [r2](Moments& m, auto& table, std::vector<double>& x) {
    const double mean = std::accumulate(x.begin(), x.end(), 0.0) / static_cast<double>(x.size());
    for (double& value : x) value -= mean;
    const double x_variance = variance(x);
    if (!(x_variance > 0)) return false;
    const auto c = bit_covariances(m, x);
    // A field cannot follow x closely when not one of its bits does at all.
    if (greatest_bit_correlation(m, c, x_variance) < 0.5 * r2) return false;
    return table_of(m, table).best_r2(c, x_variance) >= r2;
  });
}

double chance_of_curve(std::span<const Stream> streams, const ChannelSearch& found, double r2,
                       std::uint64_t seed, int draws) {
  return chance(
      streams, found, seed, draws, [r2](Moments& m, auto& table, const std::vector<double>& x) {
        const auto c = curve_covariances(m, curve_basis(x));
        const bool hopeless = std::all_of(c.begin(), c.end(), [&](const std::vector<double>& one) {
          return greatest_bit_correlation(m, one, 1) < 0.3 * r2;
        });
        if (hopeless) return false;
        return table_of(m, table).best_r2(c) >= r2;
      });
}

}  // namespace foundling
