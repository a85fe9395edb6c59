#include "decoder/analysis/chance_by_plan.h"

#include <algorithm>
#include <array>
#include <numeric>
#include <optional>

namespace foundling {
namespace {

// As search_channel tries them for a hold channel.
constexpr std::array<std::int64_t, 7> delays_ns{
    0, 1'000'000'000, 2'000'000'000, 3'000'000'000, 4'000'000'000, 5'000'000'000, -500'000'000};

// Settling and a hand's late last moment are left out, as make_rows does.
RowSet rows_of(std::span<const PlannedStretch> stretches, std::span<const double> levels) {
  const RowOptions options;
  RowSet set;
  set.kind = ChannelKind::hold;
  for (std::size_t s = 0; s < stretches.size(); ++s) {
    const std::int64_t length = stretches[s].to_ns - stretches[s].from_ns;
    const auto share = [&](double part, double most_s) {
      return std::min(static_cast<std::int64_t>(most_s * 1e9),
                      static_cast<std::int64_t>(part * static_cast<double>(length)));
    };
    set.rows.push_back({stretches[s].from_ns + share(options.skip_share, options.skip_s),
                        stretches[s].to_ns - share(options.tail_share, options.tail_s), levels[s],
                        0, 0, set.plateaus++});
  }
  return set;
}

// The best r2 of the stream's fields with these levels; 0 where not even a bit comes near `worth`.
// `table` is the moments', made when it is first needed.
double best_of(Moments& m, std::optional<SpanTable>& table, std::span<const double> levels,
               double worth) {
  std::vector<double> x;
  for (const std::size_t i : m.rows) x.push_back(levels[i]);
  const double mean = std::accumulate(x.begin(), x.end(), 0.0) / static_cast<double>(x.size());
  for (double& value : x) value -= mean;
  const double x_variance = variance(x);
  if (!(x_variance > 0)) return 0;
  const auto c = bit_covariances(m, x);
  // A field cannot follow x closely when not one of its bits does at all.
  if (greatest_bit_correlation(m, c, x_variance) < 0.5 * worth) return 0;
  return table_of(m, table).best_r2(c, x_variance);
}

}  // namespace

double chance_by_plan(std::span<const Stream> streams, std::span<const PlannedStretch> stretches,
                      std::span<const std::vector<double>> levels, double r2) {
  std::vector<bool> better(levels.size(), false);
  const RowSet rows = rows_of(stretches, levels.front());
  for (const Stream& stream : streams) {
    for (const std::int64_t delay : delays_ns) {
      Moments m = row_means(stream, rows, delay);
      if (!covers(m, rows) || m.bits.empty()) continue;
      std::optional<SpanTable> table;
      for (std::size_t k = 1; k < levels.size(); ++k) {
        if (!better[k]) better[k] = best_of(m, table, levels[k], r2) >= r2;
      }
    }
  }
  const auto count = std::count(better.begin(), better.end(), true);
  return (1.0 + static_cast<double>(count)) / static_cast<double>(levels.size());
}

double planned_r2(const Stream& stream, std::span<const PlannedStretch> stretches,
                  std::span<const double> levels, std::int64_t delay_ns, const Field& field) {
  const RowSet rows = rows_of(stretches, levels);
  return row_r2(rows, raw_row_means(stream, rows, delay_ns, field.span, field.coding));
}

double best_planned_r2(std::span<const Stream> streams, std::span<const PlannedStretch> stretches,
                       std::span<const double> levels) {
  const RowSet rows = rows_of(stretches, levels);
  double best = 0;
  for (const Stream& stream : streams) {
    for (const std::int64_t delay : delays_ns) {
      Moments m = row_means(stream, rows, delay);
      std::optional<SpanTable> table;
      if (covers(m, rows) && !m.bits.empty()) {
        best = std::max(best, best_of(m, table, levels, best));
      }
    }
  }
  return best;
}

}  // namespace foundling
