#include "decoder/analysis/curve_search.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "decoder/analysis/claims.h"
#include "decoder/analysis/end_stops.h"
#include "decoder/analysis/lagged_rows.h"
#include "decoder/analysis/plateau_points.h"
#include "decoder/analysis/rough_field.h"

namespace foundling {
namespace {

constexpr double promising_r2 = 0.95;  // of a cubic
constexpr std::size_t most_starts = 4;
// A line must leave that many times more unexplained. Fields that are straight reach 1.1 by the
// freedom that a curve has, fields on a thermistor's or a square root's curve begin at 2.
constexpr double bend = 1.5;

// What a line leaves unexplained at least where a table is worth its points: about 0.3 % of the
// range.
constexpr double worth_a_curve = 1e-4;

// Of variances with six plateaus in each: beyond the F law's 0.95 quantile, 4.3.
constexpr double far_nearer = 5;

struct Start {
  std::size_t stream = 0;
  Span span;
  Coding coding = Coding::natural;
  double r2 = 0;
  std::int64_t delay_ns = 0;
};

std::vector<double> xs_at(const RowSet& set, const Moments& m) {
  std::vector<double> x;
  for (const std::size_t i : m.rows) x.push_back(set.rows[i].x);
  return x;
}

// The share of a field's row means that a cubic in x explains.
double cubic_r2(const RowSet& set, std::span<const double> raw) {
  std::vector<double> x;
  std::vector<double> y;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    if (!std::isfinite(raw[i])) continue;
    x.push_back(set.rows[i].x);
    y.push_back(raw[i]);
  }
  return x.size() < 6 ? 0 : curve_r2(curve_basis(x), y);
}

void add_starts(std::span<const Stream> streams, const RowSet& set, std::int64_t delay_ns,
                std::vector<Start>& starts) {
  for (std::size_t s = 0; s < streams.size(); ++s) {
    Moments m = row_means(streams[s], set, delay_ns);
    if (!covers(m, set) || m.bits.empty()) continue;
    make_covariance(m);
    const CurveCovariances c = curve_covariances(m, curve_basis(xs_at(set, m)));
    for (const SpanScore& score : SpanTable(m).search(c, promising_r2)) {
      const Coding coding = score.is_signed ? Coding::twos_complement : Coding::natural;
      starts.push_back({s, score.span, coding, score.r2, delay_ns});
    }
    for (const auto& [span, coding] : streams[s].coded) {
      const auto raw = raw_row_means(streams[s], set, delay_ns, span, coding);
      const double r2 = cubic_r2(set, raw);
      if (r2 >= promising_r2) starts.push_back({s, span, coding, r2, delay_ns});
    }
  }
}

// The best ones of all delays, none overlapping another.
std::vector<Start> starts_of(std::span<const Stream> streams, const RowSet& set) {
  std::vector<Start> all;
  std::vector<double> delays_s{0, 2, 4};
  if (set.kind == ChannelKind::sample) delays_s = {0, 0.5, 1, 1.5, 2, 2.5, 3, 4, 5, -0.5};
  for (const double delay_s : delays_s) {
    add_starts(streams, set, static_cast<std::int64_t>(delay_s * 1e9), all);
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const Start& a, const Start& b) { return a.r2 > b.r2; });
  std::vector<Start> best;
  for (const Start& start : all) {
    const bool taken = std::any_of(best.begin(), best.end(), [&](const Start& b) {
      return b.stream == start.stream && b.span.overlaps(start.span);
    });
    if (!taken) best.push_back(start);
    if (best.size() == most_starts) break;
  }
  return best;
}

ChannelSeries straightened(const ChannelSeries& channel, const MonotoneCurve& curve) {
  ChannelSeries out = channel;
  for (Reading& reading : out.readings) {
    reading.uncertainty *= std::abs(curve.slope_at(reading.value));
    reading.value = curve.raw_at(reading.value);
  }
  return out;
}

struct About {
  double r2 = 0;   // share of the row means' variance that the curve explains
  double rms = 0;  // of x about the curve
};

About about(const RowSet& set, std::span<const double> raw, const MonotoneCurve& curve) {
  double errors = 0;
  double left = 0;
  double sum = 0;
  double squares = 0;
  double n = 0;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    if (!std::isfinite(raw[i])) continue;
    const double x = set.rows[i].x;
    errors += (x - curve.x_at(raw[i])) * (x - curve.x_at(raw[i]));
    left += (raw[i] - curve.raw_at(x)) * (raw[i] - curve.raw_at(x));
    sum += raw[i];
    squares += raw[i] * raw[i];
    n += 1;
  }
  const double variance = squares - sum * sum / n;
  return {variance > 0 ? 1 - left / variance : 0, std::sqrt(errors / n)};
}

// The field around a start, with its curve; none where it does not hold. Each field found gives a
// better curve, and that a better field, until both stay.
std::optional<CurveFinding> follow(std::span<const Stream> streams, const ChannelSeries& channel,
                                   std::int64_t end_ns, const RowSet& set, const Start& start) {
  constexpr int rounds = 4;
  const std::span<const Stream> alone = streams.subspan(start.stream, 1);
  const Stream& stream = alone.front();
  CurveFinding found;
  found.rows.rows = set;
  found.rows.delay_ns = start.delay_ns;
  Field field{start.span, start.coding};
  std::vector<double> raw;
  const auto trace = [&] {
    raw = raw_row_means(stream, found.rows.rows, found.rows.delay_ns, field.span, field.coding);
    found.curve = MonotoneCurve(found.rows.rows, raw);
    return found.curve.nodes().size() >= static_cast<std::size_t>(curve_levels_needed);
  };
  for (int round = 0; round < rounds; ++round) {
    if (!trace()) return {};
    const ChannelSearch search = search_channel(alone, straightened(channel, found.curve), end_ns);
    const auto own =
        std::find_if(search.candidates.begin(), search.candidates.end(),
                     [&](const Candidate& c) { return c.field.span.overlaps(start.span); });
    if (own == search.candidates.end()) return {};
    const bool settled = own->field.span == field.span && round > 0;
    found.candidate = *own;
    field = own->field;
    found.rows.rows = lagged_rows(stream, channel, own->lag, end_ns);
    found.rows.delay_ns = static_cast<std::int64_t>(own->lag.delay_s * 1e9);
    if (settled) break;
  }
  if (!trace()) return {};
  found.levels = static_cast<int>(found.curve.groups());
  const About fit = about(found.rows.rows, raw, found.curve);
  found.candidate.stream = start.stream;
  found.candidate.field.r2 = fit.r2;
  found.residual_rms = fit.rms;
  found.r2 = cubic_r2(found.rows.rows, raw);
  found.line_r2 = row_r2(found.rows.rows, raw);
  return found;
}

// Levels that had to be put together do not tell a curve from a scatter, nor from an end stop.
bool is_monotone(const MonotoneCurve& curve) {
  return static_cast<double>(curve.nodes().size()) >= 0.85 * static_cast<double>(curve.groups());
}

// The field read as a line through these of its rows. The straightened channel was in an integer's
// codes, where no float reads round: so those are asked here again.
std::optional<Candidate> straight_on(const Stream& stream, const CurveFinding& found,
                                     const RowSet& rows) {
  const auto read_as = [&](Field field) {
    field.r2 =
        row_r2(rows, raw_row_means(stream, rows, found.rows.delay_ns, field.span, field.coding));
    return complete(stream, found.candidate.stream, rows, found.rows.delay_ns, field);
  };
  auto straight = read_as(found.candidate.field);
  if (!straight) return {};
  for (const auto& [span, coding] : stream.coded) {
    if (!span.overlaps(found.candidate.field.span)) continue;
    auto real = read_as({span, coding});
    if (real && takes_place(*real, *straight)) straight = std::move(real);
  }
  straight->lag = found.candidate.lag;
  return straight;
}

// On the rows within its measuring range.
std::optional<Candidate> straight_inside(const Stream& stream, const CurveFinding& found) {
  const bool moving = found.rows.rows.kind == ChannelKind::sample;
  const auto inside = straight_stretch(found.curve, moving ? 0.01 : 0.002);
  if (!inside) return {};
  RowSet rows = found.rows.rows;
  const double slack = 1e-3 * (inside->high - inside->low);
  std::erase_if(rows.rows, [&](const Row& row) {
    return row.x < inside->low - slack || row.x > inside->high + slack;
  });
  return straight_on(stream, found, rows);
}

// A plateau or two with a wrong reading, or a moment that nobody could mend, bend any line; a
// sensor's curve bends at all of them. So it is a line where all but a sixth of the plateaus lie as
// near to one as all lie to the curve; and where half of them lie far nearer: what a true curve
// leaves is noise, and no line through some of its plateaus leaves less than that.
std::optional<Candidate> straight_but_for_few(const Stream& stream, CurveFinding& found) {
  const RowSet& all = found.rows.rows;
  if (all.kind != ChannelKind::hold) return {};
  const Field& field = found.candidate.field;
  const auto raw = raw_row_means(stream, all, found.rows.delay_ns, field.span, field.coding);
  const auto line = line_of_most(all, raw);
  if (!line || line->agree == line->plateaus) return {};
  const int off = line->plateaus - line->agree;
  const double by_curve = 1 - field.r2;
  const double by_line = 1 - line->r2;
  const bool but_for_few =
      off <= std::max(1, line->plateaus / 6) && by_line <= bend * std::max(by_curve, worth_a_curve);
  if (!but_for_few && by_line * far_nearer > by_curve) return {};
  const PlateauPoints points(all, raw);
  std::set<int> left_out;
  std::size_t k = 0;
  for (std::size_t i = 0, end = 0; i < all.rows.size() && k < points.size(); i = end) {
    bool seen = false;
    for (end = i; end < all.rows.size() && all.rows[end].plateau == all.rows[i].plateau; ++end) {
      seen = seen || std::isfinite(raw[end]);
    }
    if (!seen) continue;
    const double away = points.raw[k] - line->line.intercept - line->line.slope * points.x[k];
    const double least = std::max(line->line.sd, std::abs(line->line.slope) * points.u[k]);
    if (std::abs(away) > 4 * least) left_out.insert(all.rows[i].plateau);
    ++k;
  }
  RowSet rows = all;
  std::erase_if(rows.rows, [&](const Row& row) { return left_out.contains(row.plateau); });
  auto straight = straight_on(stream, found, rows);
  if (straight) found.plateaus_off = static_cast<int>(left_out.size());
  return straight;
}

}  // namespace

bool bends(const Stream& stream, const ChannelSeries& channel, const Candidate& candidate,
           std::int64_t end_ns) {
  const RowSet rows = lagged_rows(stream, channel, candidate.lag, end_ns);
  const auto raw =
      raw_row_means(stream, rows, static_cast<std::int64_t>(candidate.lag.delay_s * 1e9),
                    candidate.field.span, candidate.field.coding);
  const MonotoneCurve curve(rows, raw);
  if (curve.nodes().size() < static_cast<std::size_t>(curve_levels_needed) || !is_monotone(curve)) {
    return false;
  }
  const double left = 1 - row_r2(rows, raw);
  return left > worth_a_curve && left > bend * (1 - about(rows, raw, curve).r2);
}

std::optional<CurveFinding> search_curve(std::span<const Stream> streams,
                                         const ChannelSeries& channel, std::int64_t end_ns) {
  const RowSet set = make_rows(channel, end_ns);
  if (set.rows.size() < 6 || set.levels < curve_levels_needed) return {};
  std::optional<CurveFinding> best;
  for (const Start& start : starts_of(streams, set)) {
    auto found = follow(streams, channel, end_ns, set, start);
    if (!found || !follows(found->candidate, set.kind)) continue;
    found->straight = straight_inside(streams[start.stream], *found);
    if (found->straight) {
      found->candidate.field.span = found->straight->field.span;
      found->candidate.field.coding = found->straight->field.coding;
    }
    if (!found->straight) found->straight = straight_but_for_few(streams[start.stream], *found);
    if (!found->straight && !is_monotone(found->curve)) continue;
    if (1 - found->line_r2 < bend * (1 - found->candidate.field.r2)) continue;
    if (!best || found->candidate.field.r2 > best->candidate.field.r2) best = std::move(found);
  }
  return best;
}

}  // namespace foundling
