#include "decoder/analysis/span_search.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace foundling {
namespace {

// What a field is held against: covariances of the bits with N functions of x, each of variance 1
// and uncorrelated with the others. A straight line is N = 1.
template <std::size_t N>
using Targets = std::array<std::span<const double>, N>;

template <std::size_t N>
double square(const std::array<double, N>& cov) {
  double sum = 0;
  for (const double c : cov) sum += c * c;
  return sum;
}

// Grows fields upwards from one least significant bit and hands each to `visit`.
template <std::size_t N, typename Visit>
void grow(const Moments& m, const Targets<N>& c, double x_variance, int lsb, ByteOrder order,
          int most_bits, Visit visit) {
  const int last_byte = static_cast<int>(m.column.size()) / 8 - 1;
  std::array<double, N> cov{};
  double var = 0;
  std::vector<std::pair<int, double>> below;  // column and weight of the bits so far
  for (int width = 1; width <= most_bits; ++width) {
    const auto span = Span::from_lsb(bit_position(lsb), width, order);
    if (!span || span->last_byte() > last_byte) return;
    const int column = m.column[static_cast<std::size_t>(bit_index(span->msb))];
    if (column < 0) continue;  // a still bit shifts the weights of those above, no more
    const double weight = std::ldexp(1.0, width - 1);
    double cross = 0;
    for (const auto& [other, w] : below) cross += w * m.cov(column, other);
    const double own = weight * weight * m.cov(column, column);
    // The same bit on top of a signed field weighs the other way round.
    std::array<double, N> cov_signed = cov;
    for (std::size_t k = 0; k < N; ++k) {
      const double c_top = weight * c[k][static_cast<std::size_t>(column)];
      cov_signed[k] -= c_top;
      cov[k] += c_top;
    }
    const double var_signed = var + own - 2 * weight * cross;
    var += own + 2 * weight * cross;
    below.emplace_back(column, weight);
    if (var > 0) visit(SpanScore{*span, false, square(cov) / (var * x_variance)});
    if (width > 1 && var_signed > 0) {
      visit(SpanScore{*span, true, square(cov_signed) / (var_signed * x_variance)});
    }
  }
}

template <std::size_t N, typename Visit>
void visit_all(const Moments& m, const Targets<N>& c, double x_variance, int most_bits,
               Visit visit) {
  for (const int lsb : m.bits) {
    for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
      grow(m, c, x_variance, lsb, order, most_bits, [&](const SpanScore& score) {
        const bool once = order == ByteOrder::big || score.span.order() != ByteOrder::single;
        if (once) visit(score);
      });
    }
  }
}

template <std::size_t N>
std::vector<SpanScore> all_above(const Moments& m, const Targets<N>& c, double x_variance,
                                 const SpanSearchOptions& options) {
  std::vector<SpanScore> found;
  visit_all(m, c, x_variance, options.most_bits, [&](const SpanScore& score) {
    if (score.r2 >= options.least_r2) found.push_back(score);
  });
  return found;
}

template <std::size_t N>
double best_of_all(const Moments& m, const Targets<N>& c, double x_variance) {
  double best = 0;
  visit_all(m, c, x_variance, SpanSearchOptions{}.most_bits,
            [&](const SpanScore& score) { best = std::max(best, score.r2); });
  return best;
}

Targets<curve_functions> targets_of(const CurveCovariances& c) { return {c[0], c[1], c[2]}; }

}  // namespace

std::vector<SpanScore> search_spans(const Moments& m, std::span<const double> c, double x_variance,
                                    const SpanSearchOptions& options) {
  return all_above(m, Targets<1>{c}, x_variance, options);
}

double best_r2(const Moments& m, std::span<const double> c, double x_variance) {
  return best_of_all(m, Targets<1>{c}, x_variance);
}

std::vector<SpanScore> search_spans(const Moments& m, const CurveCovariances& c,
                                    const SpanSearchOptions& options) {
  return all_above(m, targets_of(c), 1, options);
}

double best_r2(const Moments& m, const CurveCovariances& c) {
  return best_of_all(m, targets_of(c), 1);
}

}  // namespace foundling
