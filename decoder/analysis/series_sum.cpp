#include "decoder/analysis/series_sum.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <optional>

#include "decoder/analysis/moments.h"

namespace foundling {
namespace {

constexpr double agreement = 0.02;  // a board's and an instrument's gain errors are far below it
constexpr std::size_t fewest_fields = 4;

struct Comparison {
  double relative = 0;
  double sum = 0;      // mean over the readings
  double reading = 0;  // mean
};

// Sum of the decoded fields over each row of the channel, beside the channel's value there. Rows in
// which a field has no frame are left out: pages come round slowly.
std::optional<Comparison> compare(std::span<const Stream> streams,
                                  std::span<const SummedField> fields, const Proposal& like,
                                  const ChannelSeries& channel, std::int64_t end_ns) {
  const RowSet set = make_rows(channel, end_ns);
  const auto delay_ns = static_cast<std::int64_t>(like.delay_s * 1e9);
  std::vector<double> sums(set.rows.size(), 0);
  for (const SummedField& f : fields) {
    const auto raw = raw_row_means(streams[f.stream], set, delay_ns, f.span, coding_of(like));
    for (std::size_t i = 0; i < sums.size(); ++i) sums[i] += raw[i] * like.scale + like.offset;
  }
  Comparison c;
  double squares = 0;
  double rows = 0;
  for (std::size_t i = 0; i < sums.size(); ++i) {
    if (!std::isfinite(sums[i])) continue;
    const double difference = sums[i] - set.rows[i].x;
    squares += difference * difference;
    c.sum += sums[i];
    c.reading += set.rows[i].x;
    rows += 1;
  }
  if (rows < 1 || c.reading == 0) return {};
  c.sum /= rows;
  c.reading /= rows;
  c.relative = std::sqrt(squares / rows) / std::abs(c.reading);
  return c;
}

std::string figures(double value) {
  std::array<char, 32> text{};
  const int length = std::snprintf(text.data(), text.size(), "%.4g", value);
  return {text.data(), static_cast<std::size_t>(length)};
}

}  // namespace

SumTest test_sum(std::span<const Stream> streams, std::span<const SummedField> fields,
                 const Proposal& like, std::span<const ChannelSeries> channels,
                 std::int64_t end_ns) {
  SumTest best;
  if (like.unit != "V" || fields.size() < fewest_fields) return best;
  std::optional<Comparison> closest;
  for (const ChannelSeries& c : channels) {
    if (c.channel.is_state() || c.channel.unit != like.unit || c.readings.empty()) continue;
    const auto found = compare(streams, fields, like, c, end_ns);
    if (!found || (closest && closest->relative <= found->relative)) continue;
    // What reads like a single member is no pack.
    const double one = found->sum / static_cast<double>(fields.size());
    if (std::abs(found->reading) < 2 * std::abs(one)) continue;
    closest = found;
    best.channel = c.channel.name;
  }
  if (!closest) return best;
  best.relative = closest->relative;
  best.agrees = closest->relative <= agreement;
  const std::string unit = " " + like.unit;
  best.words = "the sum of " + std::to_string(fields.size()) + " members, " +
               figures(closest->sum) + unit + " on average, " +
               (best.agrees ? "agrees with " : "does not agree with any reading, not with ") +
               best.channel + ", " + figures(closest->reading) + unit + ", within " +
               figures(100 * closest->relative) + " %";
  return best;
}

}  // namespace foundling
