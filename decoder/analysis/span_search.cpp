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

// Hands every field to `visit`, with the squares of its covariances with the targets.
template <std::size_t N, typename Step, typename Visit>
void visit_all(std::span<const Step> steps, const Targets<N>& c, Visit visit) {
  std::array<double, N> cov{};
  for (const Step& step : steps) {
    if (step.is_first) cov = {};
    // The same bit on top of a signed field weighs the other way round.
    std::array<double, N> cov_signed = cov;
    for (std::size_t k = 0; k < N; ++k) {
      const double c_top = step.weight * c[k][step.column];
      cov_signed[k] -= c_top;
      cov[k] += c_top;
    }
    if (step.variance > 0) visit(step.span, false, square(cov), step.variance);
    if (step.variance_signed > 0) visit(step.span, true, square(cov_signed), step.variance_signed);
  }
}

template <std::size_t N, typename Step>
std::vector<SpanScore> all_above(std::span<const Step> steps, const Targets<N>& c,
                                 double x_variance, double least_r2) {
  std::vector<SpanScore> found;
  visit_all(steps, c, [&](const Span& span, bool is_signed, double squares, double variance) {
    const SpanScore score{span, is_signed, squares / (variance * x_variance)};
    if (score.r2 >= least_r2) found.push_back(score);
  });
  return found;
}

template <std::size_t N, typename Step>
double best_of_all(std::span<const Step> steps, const Targets<N>& c, double x_variance) {
  double best = 0;
  visit_all(steps, c, [&](const Span&, bool, double squares, double variance) {
    best = std::max(best, squares / (variance * x_variance));
  });
  return best;
}

Targets<curve_functions> targets_of(const CurveCovariances& c) { return {c[0], c[1], c[2]}; }

}  // namespace

SpanTable::SpanTable(const Moments& moments, int most_bits) {
  for (const int lsb : moments.bits) {
    for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
      grow(moments, lsb, order, most_bits);
    }
  }
}

// All fields with this least significant bit, one bit wider each.
void SpanTable::grow(const Moments& m, int lsb, ByteOrder order, int most_bits) {
  const int last_byte = static_cast<int>(m.column.size()) / 8 - 1;
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
    const double var_signed = width > 1 ? var + own - 2 * weight * cross : 0;
    var += own + 2 * weight * cross;
    Step step{*span, below.empty(), static_cast<std::uint32_t>(column), weight, var, var_signed};
    if (order == ByteOrder::little && span->order() == ByteOrder::single) {
      step.variance = step.variance_signed = 0;  // the other order has it
    }
    steps_.push_back(step);
    below.emplace_back(column, weight);
  }
}

std::vector<SpanScore> SpanTable::search(std::span<const double> c, double x_variance,
                                         double least_r2) const {
  return all_above(std::span(steps_), Targets<1>{c}, x_variance, least_r2);
}

double SpanTable::best_r2(std::span<const double> c, double x_variance) const {
  return best_of_all(std::span(steps_), Targets<1>{c}, x_variance);
}

std::vector<SpanScore> SpanTable::search(const CurveCovariances& c, double least_r2) const {
  return all_above(std::span(steps_), targets_of(c), 1, least_r2);
}

double SpanTable::best_r2(const CurveCovariances& c) const {
  return best_of_all(std::span(steps_), targets_of(c), 1);
}

const SpanTable& table_of(Moments& moments, std::optional<SpanTable>& kept) {
  if (!kept) {
    make_covariance(moments);
    kept.emplace(moments);
  }
  return *kept;
}

}  // namespace foundling
