#include "decoder/relate/silences.h"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

namespace foundling::relate {
namespace {

// A message that keeps a period has its mean as its silences; jitter and lost frames do not double
// that.
constexpr double in_bursts = 1.5;

using Weighed = std::pair<double, double>;  // value, weight

double weighed_middle(std::vector<Weighed> values) {
  std::ranges::sort(values);
  double all = 0;
  for (const Weighed& one : values) all += one.second;
  double sum = 0;
  for (const auto& [value, weight] : values) {
    sum += weight;
    if (sum >= all / 2) return value;
  }
  return 0;
}

void leave_out_longest(std::vector<Weighed>& of) {
  if (of.size() > 1) of.erase(std::ranges::max_element(of, {}, &Weighed::second));
}

double silence_s(const MessageSeries& message, const Field& field, std::size_t i) {
  return static_cast<double>(message.t_ns[field.rows[i]] - message.t_ns[field.rows[i - 1]]) * 1e-9;
}

}  // namespace

void measure_silences(const MessageSeries& message, Field& field) {
  std::vector<Weighed> silences;
  for (std::size_t i = 1; i < field.rows.size(); ++i) {
    const double seconds = silence_s(message, field, i);
    silences.emplace_back(seconds, seconds);
  }
  leave_out_longest(silences);
  double sum = 0;
  for (const Weighed& one : silences) sum += one.second;
  const auto n = static_cast<double>(silences.size());
  field.silence_s = weighed_middle(std::move(silences));
  field.sent_on_change = field.silence_s * n > in_bursts * sum;
}

double noise_over_silences(const MessageSeries& message, const Field& field,
                           std::span<const double> codes) {
  std::vector<Weighed> steps;
  for (std::size_t i = 1; i < codes.size(); ++i) {
    const double step = std::abs(codes[i] - codes[i - 1]);
    if (!std::isnan(step)) steps.emplace_back(step, silence_s(message, field, i));
  }
  leave_out_longest(steps);
  // The middle of a normal distribution's size is 0.6745 deviations; a difference has sqrt(2).
  return weighed_middle(std::move(steps)) / 0.6745 / std::sqrt(2.0);
}

}  // namespace foundling::relate
