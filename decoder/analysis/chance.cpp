#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>
#include <random>

#include "decoder/analysis/channel_search.h"
#include "decoder/analysis/curve_search.h"
#include "decoder/analysis/line_fit.h"

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

// Of a field's row means and redrawn x: the r2 that is left when the plateaus which fit worst are
// left out, as many as the real search left out.
double r2_without_worst(const RowSet& set, std::span<const double> raw, std::span<const double> x,
                        const std::vector<std::size_t>& block, std::size_t left_out) {
  std::vector<double> xs;
  std::vector<double> ys;
  std::vector<std::size_t> blocks;
  for (std::size_t i = 0; i < set.rows.size(); ++i) {
    if (!std::isfinite(raw[i])) continue;
    xs.push_back(x[i]);
    ys.push_back(raw[i]);
    blocks.push_back(block[i]);
  }
  for (std::size_t k = 0; k <= left_out; ++k) {
    if (xs.size() < 4) return 0;
    const LineFit fit = fit_line(xs, ys);
    if (k == left_out) return std::isfinite(fit.r2) ? fit.r2 : 0;
    std::size_t worst = 0;
    double most = -1;
    for (std::size_t i = 0; i < xs.size(); ++i) {
      const double off = std::abs(ys[i] - fit.intercept - fit.slope * xs[i]);
      if (off > most) {
        most = off;
        worst = blocks[i];
      }
    }
    std::size_t kept = 0;
    for (std::size_t i = 0; i < xs.size(); ++i) {
      if (blocks[i] == worst) continue;
      xs[kept] = xs[i];
      ys[kept] = ys[i];
      blocks[kept++] = blocks[i];
    }
    xs.resize(kept);
    ys.resize(kept);
    blocks.resize(kept);
  }
  return 0;
}

// As search_channel tries them. A moving channel's fields are alike at neighbouring ones.
std::vector<std::int64_t> delays_ns(const ChannelSearch& found) {
  std::vector<std::int64_t> out{found.delay_ns};
  const std::vector<double> holds{0, 1, 2, 3, 4, 5, -0.5};
  const std::vector<double> samples{0, 1, 2, 3, 4, 5, -0.5};
  for (const double d : found.rows.kind == ChannelKind::hold ? holds : samples) {
    const auto ns = static_cast<std::int64_t>(d * 1e9);
    if (std::abs(ns - found.delay_ns) > 250'000'000) out.push_back(ns);
  }
  return out;
}

// `as_good(moments, table, x, delay)`: whether the stream has a field that follows these x as
// closely.
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
    for (const std::int64_t delay : delays_ns(found)) {
      Moments m = row_means(stream, found.rows, delay);
      std::optional<SpanTable> table;
      if (!covers(m, found.rows) || m.bits.empty()) continue;
      for (std::size_t k = 0; k < redrawn.size(); ++k) {
        if (better[k]) continue;
        better[k] = as_good(stream, m, table, redrawn[k], delay);
      }
    }
  }
  const auto count = std::count(better.begin(), better.end(), true);
  return (1.0 + static_cast<double>(count)) / (1.0 + draws);
}

std::vector<double> at_rows(const Moments& m, std::span<const double> redrawn) {
  std::vector<double> x;
  x.reserve(m.rows.size());
  for (const std::size_t i : m.rows) x.push_back(redrawn[i]);
  return x;
}

}  // namespace

double chance_of(std::span<const Stream> streams, const ChannelSearch& found, double r2,
                 std::uint64_t seed, std::size_t left_out, int draws) {
  const auto block = blocks_of(found.rows);
  const auto as_good = [&](const Stream& stream, Moments& m, std::optional<SpanTable>& table,
                           const std::vector<double>& redrawn, std::int64_t delay) {
    std::vector<double> x = at_rows(m, redrawn);
    const double mean = std::accumulate(x.begin(), x.end(), 0.0) / static_cast<double>(x.size());
    for (double& value : x) value -= mean;
    const double x_variance = variance(x);
    if (!(x_variance > 0)) return false;
    const auto c = bit_covariances(m, x);
    // A field cannot follow x closely when not one of its bits does at all.
    const double least = left_out == 0 ? 0.5 * r2 : 0.3;
    if (greatest_bit_correlation(m, c, x_variance) < least) return false;
    const SpanTable& spans = table_of(m, table);
    const double best = spans.best_r2(c, x_variance);
    if (best >= r2) return true;
    if (left_out == 0 || best < 0.3) return false;
    for (const SpanScore& s : spans.search(c, x_variance, best * 0.999)) {
      const Coding coding = s.is_signed ? Coding::twos_complement : Coding::natural;
      const auto raw = raw_row_means(stream, found.rows, delay, s.span, coding);
      if (r2_without_worst(found.rows, raw, redrawn, block, left_out) >= r2) return true;
    }
    return false;
  };
  return chance(streams, found, seed, draws, as_good);
}

double chance_of_curve(std::span<const Stream> streams, const ChannelSearch& found, double r2,
                       std::uint64_t seed, int draws) {
  return chance(streams, found, seed, draws,
                [r2](const Stream&, Moments& m, std::optional<SpanTable>& table,
                     const std::vector<double>& redrawn, std::int64_t) {
                  const auto c = curve_covariances(m, curve_basis(at_rows(m, redrawn)));
                  const bool hopeless =
                      std::all_of(c.begin(), c.end(), [&](const std::vector<double>& one) {
                        return greatest_bit_correlation(m, one, 1) < 0.3 * r2;
                      });
                  if (hopeless) return false;
                  return table_of(m, table).best_r2(c) >= r2;
                });
}

}  // namespace foundling
