#include "decoder/analysis/refine.h"

#include <algorithm>
#include <cmath>

#include "decoder/analysis/line_fit.h"

namespace foundling {
namespace {

// What rounding to whole numbers leaves unexplained: 1/12 of a code squared, of the codes'
// variance.
double rounding_share(std::span<const double> raw) {
  double n = 0;
  double sum = 0;
  double squares = 0;
  for (const double v : raw) {
    if (!std::isfinite(v)) continue;
    n += 1;
    sum += v;
    squares += v * v;
  }
  const double variance = squares / n - sum / n * (sum / n);
  return std::min(1.0, 1.0 / 12 / std::max(variance, 1.0 / 12));
}

bool varies(std::span<const double> values) {
  std::optional<double> first;
  for (const double v : values) {
    if (!std::isfinite(v)) continue;
    if (first && v != *first) return true;
    first = v;
  }
  return false;
}

}  // namespace

double unexplained_ratio(const Field& a, const Field& b) {
  const double least = std::max({a.rounding, b.rounding, 1e-9});
  return std::max(1 - a.r2, least) / std::max(1 - b.r2, least);
}

bool reads_better(const Field& a, const Field& b) {
  const double ratio = unexplained_ratio(a, b);
  return ratio < 0.5 || (ratio < 2 && a.saving > b.saving);
}

double row_r2(const RowSet& set, std::span<const double> raw) {
  std::vector<double> x;
  std::vector<double> y;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    if (!std::isfinite(raw[i])) continue;
    x.push_back(set.rows[i].x);
    y.push_back(raw[i]);
  }
  if (x.size() < 3) return 0;
  const double r2 = fit_line(x, y).r2;
  return std::isfinite(r2) ? r2 : 0;
}

// A sign must earn its place against an unsigned reading that does as well.
constexpr double sign_cost = 10;  // bits

Refinery::Refinery(const Stream& stream, const RowSet& set, std::int64_t delay_ns)
    : stream_(stream),
      set_(set),
      ranges_(frames_of_rows(stream, set, delay_ns)),
      frames_(coded_frames(stream, set, delay_ns)) {}

const std::vector<double>& Refinery::bit_means(BitPosition p) {
  const auto [known, fresh] = bit_means_.try_emplace(bit_index(p));
  if (fresh) known->second = raw_row_means(stream_, ranges_, Span{p, p}, Coding::natural);
  return known->second;
}

// Grows the field upwards from its low end. Bits that move with x and keep the line straight are
// part of it: so the widest reading that explains as much as the best one wins, and copies of a
// sign bit or the upper half of an offset field are not left as somebody else's.
std::optional<Refinery::Top> Refinery::choose_top(BitPosition lsb, ByteOrder order) {
  struct Reach {
    Top top;
    double r2 = 0;
  };
  std::vector<Reach> tops;
  std::vector<double> below(set_.rows.size(), 0);
  double best = 0;
  for (int width = 1; width <= 48; ++width) {
    const auto span = Span::from_lsb(lsb, width, order);
    if (!span || span->last_byte() * 8 >= stream_.bits.bits()) break;
    const auto bit = static_cast<std::size_t>(bit_index(span->msb));
    if (stream_.owned[bit]) break;
    if (!stream_.moving[bit]) continue;
    const std::vector<double>& means = bit_means(span->msb);
    if (!varies(means)) continue;  // moves, but never while the channel is settled
    const double weight = std::ldexp(1.0, width - 1);
    std::vector<double> negative(below);
    for (std::size_t i = 0; i < below.size(); ++i) {
      negative[i] -= weight * means[i];
      below[i] += weight * means[i];
    }
    tops.push_back({{span->msb, order, false}, row_r2(set_, below)});
    if (width > 1) tops.push_back({{span->msb, order, true}, row_r2(set_, negative)});
    best = std::max({best, tops.back().r2, tops[tops.size() - (width > 1 ? 2 : 1)].r2});
  }
  // Unsigned comes before signed at the same top: a sign must earn its place.
  std::optional<Reach> widest;
  for (const Reach& reach : tops) {
    const bool as_good = 1 - reach.r2 <= 1.1 * (1 - best) + 1e-12;
    if (as_good && (!widest || widest->top.msb != reach.top.msb || reach.r2 > widest->r2 + 1e-12)) {
      widest = reach;
    }
  }
  if (!widest) return {};
  return widest->top;
}

std::optional<Field> Refinery::refine(const SpanScore& start, ByteOrder order) {
  std::optional<Field> field;
  if (frames_.frame.size() < 6) return field;
  BitPosition lsb = start.span.lsb;
  for (int round = 0; round < 3; ++round) {
    const auto top = choose_top(lsb, order);
    if (!top) return field;
    const auto [known, fresh] = low_ends_.try_emplace(*top);
    LowEnd& low = known->second;
    if (fresh) low = choose_low_end(stream_, frames_, top->msb, order, top->is_signed);
    const bool settled = low.span.lsb == lsb;
    lsb = low.span.lsb;
    field = Field{low.span, top->is_signed ? Coding::twos_complement : Coding::natural};
    field->saving = low.saving - (top->is_signed ? sign_cost : 0);
    const auto raw = raw_row_means(stream_, ranges_, field->span, field->coding);
    field->r2 = row_r2(set_, raw);
    field->rounding = rounding_share(raw);
    if (settled) break;
  }
  return field;
}

}  // namespace foundling
