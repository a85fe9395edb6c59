#include "decoder/analysis/level_order.h"

#include <cmath>
#include <vector>

#include "decoder/analysis/moments.h"

namespace foundling {

bool went_one_way(const RowSet& set) {
  if (set.kind != ChannelKind::hold) return false;
  std::vector<double> x;
  int last = -1;
  for (const Row& row : set.rows) {
    if (row.plateau != last) x.push_back(row.x);
    last = row.plateau;
  }
  if (x.size() < 4) return false;
  double in_order = 0;
  double pairs = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    for (std::size_t k = i + 1; k < x.size(); ++k) {
      if (x[i] == x[k]) continue;
      in_order += x[k] > x[i] ? 1 : -1;
      pairs += 1;
    }
  }
  constexpr double one_way = 0.8;  // of at most 8 levels in random order, one in 500 (derived)
  return pairs > 0 && std::abs(in_order) >= one_way * pairs;
}

double drift_share(const Stream& stream, const RowSet& set, std::int64_t delay_ns,
                   const Field& field) {
  RowSet early = set;
  RowSet late = set;
  for (std::size_t i = 0; i < set.rows.size(); ++i) {
    const std::int64_t middle = set.rows[i].from_ns + (set.rows[i].to_ns - set.rows[i].from_ns) / 2;
    early.rows[i].to_ns = late.rows[i].from_ns = middle;
  }
  const auto before = raw_row_means(stream, early, delay_ns, field.span, field.coding);
  const auto after = raw_row_means(stream, late, delay_ns, field.span, field.coding);
  double moved = 0;
  double time = 0;  // over which it could
  double first = NAN, last = NAN;
  std::int64_t from = 0;
  std::int64_t to = 0;
  for (std::size_t i = 0; i < before.size(); ++i) {
    if (!std::isfinite(before[i]) || !std::isfinite(after[i])) continue;
    const Row& row = set.rows[i];
    moved += after[i] - before[i];
    time += static_cast<double>(row.to_ns - row.from_ns) / 2;
    if (!std::isfinite(first)) {
      first = before[i];
      from = row.from_ns;
    }
    last = after[i];
    to = row.to_ns;
  }
  const double speed = (last - first) / static_cast<double>(to - from);
  const double expected = speed * time;
  return std::isfinite(expected) && expected != 0 ? moved / expected : 0;
}

}  // namespace foundling
