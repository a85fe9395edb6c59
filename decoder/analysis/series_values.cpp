#include "decoder/analysis/series_values.h"

#include <algorithm>
#include <cmath>

namespace foundling {
namespace {

constexpr double believed_share = 0.98;  // of the frames in the window

double quantile(std::vector<double> values, double share) {
  const auto at = static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + at, values.end());
  return values[static_cast<std::size_t>(at)];
}

double median_step(std::span<const double> numbers) {
  if (numbers.size() < 2) return 0;
  std::vector<double> steps;
  for (std::size_t i = 1; i < numbers.size(); ++i) {
    steps.push_back(std::abs(numbers[i] - numbers[i - 1]));
  }
  return quantile(std::move(steps), 0.5);
}

bool owned(const Stream& stream, const Span& span) {
  for (int i = 0; i < span.width(); ++i) {
    if (stream.owned[static_cast<std::size_t>(bit_index(span.position(i)))]) return true;
  }
  return false;
}

bool all_zeros_or_ones(const Stream& stream, const Span& span) {
  const std::size_t frames = stream.bits.frames();
  std::uint64_t set = 0;
  for (int i = 0; i < span.width(); ++i) {
    set += stream.bits.ones(bit_index(span.position(i)), 0, frames);
  }
  return set == 0 || set == frames * static_cast<std::uint64_t>(span.width());
}

}  // namespace

std::vector<double> numbers_of(const Stream& stream, const Span& span, Coding coding) {
  std::vector<double> out;
  for (const std::uint64_t raw : stream.bits.raw(span)) {
    out.push_back(number_of(raw, span.width(), coding));
  }
  return out;
}

void take_in(LikeValues& like, std::span<const double> numbers) {
  if (numbers.empty()) return;
  const std::vector<double> values(numbers.begin(), numbers.end());
  const double low = quantile(values, 0.01);
  const double high = quantile(values, 0.99);
  const bool empty = like.low == 0 && like.high == 0 && like.roughness == 0;
  like.low = empty ? low : std::min(like.low, low);
  like.high = empty ? high : std::max(like.high, high);
  like.roughness = std::max(like.roughness, median_step(numbers));
}

double window_low(const LikeValues& like) { return like.low - (like.high - like.low) / 4; }
double window_high(const LikeValues& like) { return like.high + (like.high - like.low) / 4; }

bool reads_alike(const Stream& stream, const Span& span, Coding coding, const LikeValues& like) {
  if (owned(stream, span) || all_zeros_or_ones(stream, span)) return false;
  const std::vector<double> numbers = numbers_of(stream, span, coding);
  const auto inside = std::count_if(numbers.begin(), numbers.end(), [&](double value) {
    return value >= window_low(like) && value <= window_high(like);
  });
  if (static_cast<double>(inside) < believed_share * static_cast<double>(numbers.size())) {
    return false;
  }
  return median_step(numbers) <= 3 * like.roughness + 2;
}

}  // namespace foundling
