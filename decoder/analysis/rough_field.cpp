// The method. A slip or a substitute spoils the rows of its plateau, wherever the search for fields
// meets it; rows without it are clean. So the search is run on subsets of the plateaus, drawn at
// random and by time, until one of them is likely to have been clean (M. A. Fischler, R. C. Bolles,
// Commun. ACM 24 (1981) 381), and every field so found is held against all plateaus by
// concentration: fit, keep what lies near, fit again (P. J. Rousseeuw, K. Van Driessen,
// Technometrics 41 (1999) 212). Fields are compared in bits: what the line saves on the plateaus
// that agree, less the price of naming those that do not.
#include "decoder/analysis/rough_field.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <random>
#include <set>

#include "decoder/analysis/line_fit.h"
#include "decoder/analysis/moments.h"
#include "decoder/analysis/observation_priors.h"
#include "decoder/analysis/plateau_points.h"

namespace foundling {
namespace {

// Which part of the plateaus is read, and how far behind the stamps.
struct Way {
  RowOptions options;
  double delay_s;
};

// A board answers late: its plateaus' ends are settled. A hand stamps late: so are the middles.
std::vector<Way> readings_of(ChannelKind kind) {
  if (kind == ChannelKind::sample) {
    std::vector<Way> all;
    for (const double delay : {0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, -0.5}) {
      all.push_back({{}, delay});
    }
    return all;
  }
  RowOptions middle;
  middle.skip_share = middle.tail_share = 0.3;
  middle.tail_s = 6;
  return {{{}, 0},    {{}, 1},        {{}, 2},         {{}, 3},         {{}, 4},      {{}, 5},
          {{}, -0.5}, {middle, -2.5}, {middle, -1.25}, {middle, -3.75}, {middle, -5}, {middle, 0}};
}

struct View {  // the rows of one way of reading, with every stream's bits over them
  RowOptions options;
  RowSet set;
  std::int64_t delay_ns = 0;
  std::vector<Moments> moments;  // one a stream; no bits where it is not covered
};

View view_of(std::span<const Stream> streams, const ChannelSeries& channel, std::int64_t end_ns,
             const Way& how) {
  View view;
  view.options = how.options;
  view.set = make_rows(channel, end_ns, how.options);
  view.delay_ns = static_cast<std::int64_t>(how.delay_s * 1e9);
  for (const Stream& stream : streams) {
    Moments m = row_means(stream, view.set, view.delay_ns);
    if (!covers(m, view.set)) m = {};
    view.moments.push_back(std::move(m));
  }
  return view;
}

// The rows of some plateaus only.
Moments part_of(const Moments& all, const RowSet& set, const std::vector<bool>& kept) {
  Moments m;
  m.column.assign(all.column.size(), -1);
  std::vector<std::size_t> rows;
  for (std::size_t i = 0; i < all.rows.size(); ++i) {
    if (!kept[static_cast<std::size_t>(set.rows[all.rows[i]].plateau)]) continue;
    rows.push_back(i);
    m.rows.push_back(all.rows[i]);
  }
  const auto n = static_cast<double>(rows.size());
  for (std::size_t k = 0; k < all.bits.size() && !rows.empty(); ++k) {
    const double* column = all.deviation.data() + k * all.rows.size();
    double mean = 0;
    for (const std::size_t i : rows) mean += column[i] / n;
    double squares = 0;
    for (const std::size_t i : rows) squares += (column[i] - mean) * (column[i] - mean);
    if (squares / n < 1e-12) continue;
    m.column[static_cast<std::size_t>(all.bits[k])] = static_cast<int>(m.bits.size());
    m.bits.push_back(all.bits[k]);
    for (const std::size_t i : rows) m.deviation.push_back(column[i] - mean);
    m.variance.push_back(squares / n);
  }
  return m;
}

// The best span of a stream on some of its plateaus; none where nothing follows x there.
std::optional<SpanScore> best_span(const Moments& all, const RowSet& set,
                                   const std::vector<bool>& kept) {
  Moments m = part_of(all, set, kept);
  if (m.rows.size() < 4 || m.bits.empty()) return {};
  const std::vector<double> x = centred_x(m, set);
  const double x_variance = variance(x);
  if (!(x_variance > 0)) return {};
  const std::vector<double> c = bit_covariances(m, x);
  if (greatest_bit_correlation(m, c, x_variance) < 0.3) return {};
  make_covariance(m);
  std::optional<SpanScore> best;
  for (const SpanScore& s : SpanTable(m).search(c, x_variance, rough_r2)) {
    if (!best || s.r2 > best->r2) best = s;
  }
  return best;
}

// Through the slopes' median, of the lower against the upper half in order of x (H. Theil, Proc.
// Kon. Ned. Akad. Wet. A 53 (1950) 1397, the abbreviated method), and the offsets' median.
RoughLine median_line(const PlateauPoints& points) {
  std::vector<std::size_t> order(points.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return points.x[a] < points.x[b]; });
  std::vector<double> values;
  const std::size_t half = order.size() / 2;
  for (std::size_t i = 0; i < half; ++i) {
    const std::size_t low = order[i];
    const std::size_t high = order[order.size() - half + i];
    if (points.x[high] > points.x[low]) {
      values.push_back((points.raw[high] - points.raw[low]) / (points.x[high] - points.x[low]));
    }
  }
  RoughLine line;
  line.slope = median_of(values);
  values.clear();
  for (std::size_t i = 0; i < points.size(); ++i) {
    values.push_back(points.raw[i] - line.slope * points.x[i]);
  }
  line.intercept = median_of(std::move(values));
  return line;
}

std::optional<RoughField> judged(const Stream& stream, std::size_t index, const View& view,
                                 const CodedSpan& bits, const std::vector<bool>& kept) {
  const auto raw = raw_row_means(stream, view.set, view.delay_ns, bits.span, bits.coding);
  std::vector<double> xs;
  std::vector<double> ys;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    const Row& row = view.set.rows[i];
    if (!std::isfinite(raw[i]) || !kept[static_cast<std::size_t>(row.plateau)]) continue;
    xs.push_back(row.x);
    ys.push_back(raw[i]);
  }
  if (xs.size() < 3) return {};
  const LineFit line = fit_line(xs, ys);
  auto field = concentrate(view.set, raw, {line.intercept, line.slope, 0});
  // One far value of x bends that line to itself; the median of slopes it does not move.
  auto upright = line_of_most(view.set, raw);
  if (!field || (upright && upright->saving > field->saving)) field = std::move(upright);
  if (!field) return {};
  field->stream = index;
  field->span = bits.span;
  field->coding = bits.coding;
  field->options = view.options;
  field->delay_ns = view.delay_ns;
  return field;
}

// Which plateaus' values of x are not far from the others'.
std::vector<bool> near_values(const RowSet& set) {
  const auto n = static_cast<std::size_t>(set.plateaus);
  std::vector<double> x(n, 0);
  for (const Row& row : set.rows) x[static_cast<std::size_t>(row.plateau)] = row.x;
  const double middle = median_of(x);
  std::vector<double> off;
  for (const double v : x) off.push_back(std::abs(v - middle));
  const double far = 6 * std::max(median_of(off), 1e-12);
  std::vector<bool> near(n);
  for (std::size_t i = 0; i < n; ++i) near[i] = off[i] <= far;
  return near;
}

bool far_values(const RowSet& set) {
  const std::vector<bool> near = near_values(set);
  return std::find(near.begin(), near.end(), false) != near.end();
}

// Which plateaus a search is run on: all; without far values of x; by time; at random.
std::vector<std::vector<bool>> subsets_of(const RowSet& set, bool only_all) {
  const auto n = static_cast<std::size_t>(set.plateaus);
  std::vector<std::vector<bool>> out{std::vector<bool>(n, true)};
  if (only_all || n < 6) return out;
  const std::vector<bool> near = near_values(set);
  if (std::find(near.begin(), near.end(), false) != near.end()) out.push_back(near);
  const auto by_time = [&](std::size_t from, std::size_t to) {
    std::vector<bool> some(near);
    for (std::size_t i = 0; i < n; ++i) some[i] = some[i] && i >= from && i < to;
    out.push_back(std::move(some));
  };
  by_time(std::max<std::size_t>(1, n / 8), n);
  by_time(0, (n + 1) / 2);
  by_time(n / 2, n);
  std::mt19937_64 random(n);
  std::vector<std::size_t> order(n);
  std::iota(order.begin(), order.end(), std::size_t{0});
  for (int draw = 0; draw < rough_draws; ++draw) {
    std::shuffle(order.begin(), order.end(), random);
    std::vector<bool> some(n, false);
    for (std::size_t i = 0; i < std::min(rough_drawn, n); ++i) some[order[i]] = near[order[i]];
    out.push_back(std::move(some));
  }
  return out;
}

// The best field of every stream in one view, into `best`.
void search_view(std::span<const Stream> streams, const View& view, bool only_all,
                 std::map<std::size_t, RoughField>& best) {
  const auto subsets = subsets_of(view.set, only_all);
  for (std::size_t s = 0; s < streams.size(); ++s) {
    if (view.moments[s].bits.empty()) continue;
    const auto judge = [&](const CodedSpan& bits, const std::vector<bool>& kept, double least_r2) {
      auto field = judged(streams[s], s, view, bits, kept);
      if (!field || field->r2 < least_r2) return;
      const auto known = best.find(s);
      if (known == best.end()) {
        best.emplace(s, std::move(*field));
      } else if (field->saving > known->second.saving) {
        known->second = std::move(*field);
      }
    };
    for (const auto& kept : subsets) {
      const auto found = best_span(view.moments[s], view.set, kept);
      if (!found) continue;
      judge({found->span, found->is_signed ? Coding::twos_complement : Coding::natural}, kept, 0);
    }
    for (const CodedSpan& bits : streams[s].coded) judge(bits, subsets.front(), rough_r2);
  }
}

std::vector<RoughField> in_order(const std::map<std::size_t, RoughField>& best) {
  std::vector<RoughField> out;
  for (const auto& [stream, field] : best) out.push_back(field);
  std::stable_sort(out.begin(), out.end(),
                   [](const RoughField& a, const RoughField& b) { return a.saving > b.saving; });
  return out;
}

// A far value of x makes any r2 great: what it is worth, the subsets without it must show.
bool convincing(const std::vector<RoughField>& found, double r2, bool far_values) {
  return !found.empty() && !far_values && found.front().agree == found.front().plateaus &&
         found.front().r2 >= r2;
}

}  // namespace

double near_line(const RoughLine& line, double u) {
  return 4 * std::max({line.sd, 0.5, std::abs(line.slope) * u});
}

std::optional<RoughField> concentrate(const RowSet& set, std::span<const double> raw,
                                      RoughLine first) {
  const PlateauPoints points(set, raw);
  const std::size_t n = points.size();
  if (n < 4) return {};
  RoughLine line = first;
  std::vector<bool> near(n, true);
  double r2 = 0;
  for (int round = 0; round < 8; ++round) {
    std::vector<double> off;
    for (std::size_t i = 0; i < n; ++i) {
      off.push_back(std::abs(points.raw[i] - line.intercept - line.slope * points.x[i]));
    }
    const double sd = 1.4826 * median_of(off);
    std::vector<double> x;
    std::vector<double> y;
    bool same = round > 0;
    for (std::size_t i = 0; i < n; ++i) {
      const bool keeps = off[i] <= near_line({line.intercept, line.slope, sd}, points.u[i]);
      same = same && keeps == near[i];
      near[i] = keeps;
      if (!keeps) continue;
      x.push_back(points.x[i]);
      y.push_back(points.raw[i]);
    }
    if (x.size() < 4 || x.size() * 2 < n) return {};
    const LineFit fit = fit_line(x, y);
    if (!std::isfinite(fit.slope) || fit.slope == 0) return {};
    line = {fit.intercept, fit.slope, std::max(fit.residual_sd, 0.5)};
    r2 = fit.r2;
    if (same) break;
  }
  RoughField out;
  out.line = line;
  out.r2 = r2;
  out.plateaus = static_cast<int>(n);
  out.agree = static_cast<int>(std::count(near.begin(), near.end(), true));
  // What a reading tells of the raw number, both being normal: -1/2 log2(1 - r2) bits.
  const double each = std::min(rough_most_bits, -0.5 * std::log2(std::max(1 - r2, 1e-12)));
  out.saving = each * out.agree - odd_plateau_bits * (out.plateaus - out.agree);
  return out;
}

std::optional<RoughField> line_of_most(const RowSet& set, std::span<const double> raw) {
  return concentrate(set, raw, median_line(PlateauPoints(set, raw)));
}

RoughField without_noise_bits(RoughField field, const Stream& stream) {
  if (!is_plain(field.coding)) return field;
  const int width = field.span.width();
  int bits = static_cast<int>(std::log2(2 * field.line.sd));
  // Nor such as hardly ever move, and what lies below them: the field's steps are larger than its
  // numbers seem to say. Unless hardly any bits were left to tell a slip by.
  const auto stands_still = [&](int i) {
    const double ones =
        stream.bits.ones(bit_index(field.span.position(i)), 0, stream.bits.frames());
    const double share = ones / static_cast<double>(stream.bits.frames());
    return std::min(share, 1 - share) < still_bit_share;
  };
  int above = 0;
  for (int i = width - 1; i >= 0; --i) {
    if (!stands_still(i)) {
      ++above;
    } else if (above >= least_rough_bits) {
      bits = std::max(bits, i + 1);
      break;
    }
  }
  bits = std::min(width - 2, bits);
  if (bits <= 0) return field;
  field.span.lsb = field.span.position(bits);
  field.line.intercept = std::ldexp(field.line.intercept, -bits);
  field.line.slope = std::ldexp(field.line.slope, -bits);
  field.line.sd = std::max(0.5, std::ldexp(field.line.sd, -bits));
  return field;
}

std::vector<RoughField> rough_fields(std::span<const Stream> streams, const ChannelSeries& channel,
                                     std::int64_t end_ns) {
  std::map<std::size_t, RoughField> best;
  const auto ways = readings_of(channel.channel.kind);
  std::vector<std::pair<double, std::size_t>> worth;  // of each way of reading
  bool convinced = false;
  for (std::size_t w = 0; w < ways.size(); ++w) {
    const View view = view_of(streams, channel, end_ns, ways[w]);
    if (view.set.plateaus < 4 || view.set.levels < 3) return {};
    std::map<std::size_t, RoughField> here;
    search_view(streams, view, true, here);
    const auto found = in_order(here);
    worth.emplace_back(found.empty() ? -INFINITY : found.front().saving, w);
    for (const auto& [s, field] : here) {
      const auto known = best.find(s);
      if (known == best.end() || field.saving > known->second.saving) best[s] = field;
    }
    if (convincing(found, rough_certain_r2, far_values(view.set))) return in_order(best);
    convinced = convinced || convincing(found, rough_convincing_r2, far_values(view.set));
  }
  if (convinced) return in_order(best);
  std::stable_sort(worth.begin(), worth.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  std::set<std::size_t> tried;
  for (std::size_t k = 0; k < std::min<std::size_t>(2, worth.size()); ++k) {
    tried.insert(worth[k].second);
  }
  // Slips may hide which way is the right one: a quick board's, a slow one's, and the middles at
  // half the usual lateness.
  if (channel.channel.kind == ChannelKind::hold) tried.insert({0, 1, 7});
  for (const std::size_t w : tried) {
    search_view(streams, view_of(streams, channel, end_ns, ways[w]), false, best);
  }
  return in_order(best);
}

}  // namespace foundling
