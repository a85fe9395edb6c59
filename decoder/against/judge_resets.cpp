#include <algorithm>
#include <array>
#include <cmath>

#include "decoder/against/judgements.h"

namespace foundling::held {
namespace {

constexpr double one_start_s = 3;         // a board's messages begin within this
constexpr double least_share_near = 0.8;  // of the counts that broke off, at their beginning

// Whether the counter's code is what it would be after `frames` lost ones, give or take one.
bool explained(const CounterFinding& c, std::uint64_t before, std::uint64_t now, double frames) {
  const auto modulus = static_cast<std::int64_t>(c.modulus);
  for (const double k : {std::round(frames) - 1, std::round(frames), std::round(frames) + 1}) {
    if (k < 1) continue;
    const auto wrapped = static_cast<std::int64_t>(std::fmod(k, static_cast<double>(modulus)));
    const auto due = (static_cast<std::int64_t>(before) + c.step % modulus * wrapped) % modulus;
    if ((due + modulus) % modulus == static_cast<std::int64_t>(now)) return true;
  }
  return false;
}

void note_side(const OneSide& side, Side which, const CounterFinding& c, Judged& judged) {
  const MessageSeries& series = *side.series;
  if (c.modulus < 4 || side.survey->period_s <= 0) return;
  std::vector<CountBreak> breaks;
  for (std::size_t i = 1; i < series.size(); ++i) {
    const std::uint64_t before = extract(c.span, series.row(i - 1));
    const std::uint64_t now = extract(c.span, series.row(i));
    const double gap = static_cast<double>(series.t_ns[i] - series.t_ns[i - 1]) / 1e9;
    if (explained(c, before, now, gap / side.survey->period_s)) continue;
    const bool near = now <= 1 || now == static_cast<std::uint64_t>(std::abs(c.step));
    const double luck = near ? std::min(1.0, 3.0 / static_cast<double>(c.modulus)) : 1.0;
    breaks.push_back({which, series.bus, side.second(series.t_ns[i]), luck});
  }
  // What breaks off all the time counts something else.
  if (breaks.size() * 50 > series.size()) return;
  judged.breaks.insert(judged.breaks.end(), breaks.begin(), breaks.end());
}

double choose(std::size_t n, std::size_t k) {
  double product = 1;
  for (std::size_t i = 1; i <= k; ++i) {
    product *= static_cast<double>(n - k + i) / static_cast<double>(i);
  }
  return product;
}

// That so many of the counts that broke off together landed near their beginning by luck.
double chance_of_luck(std::span<const CountBreak> together) {
  double product = 1;
  std::size_t near = 0;
  for (const CountBreak& b : together) {
    product *= b.luck;
    near += b.luck < 1 ? 1 : 0;
  }
  if (static_cast<double>(near) < least_share_near * static_cast<double>(together.size())) return 1;
  return std::min(1.0, product * choose(together.size(), near));
}

void judge_side(std::vector<CountBreak> breaks, double frames, Judged& judged) {
  std::sort(breaks.begin(), breaks.end(),
            [](const CountBreak& x, const CountBreak& y) { return x.at_s < y.at_s; });
  for (std::size_t first = 0; first < breaks.size();) {
    std::size_t last = first;
    while (last < breaks.size() && breaks[last].at_s - breaks[first].at_s <= one_start_s) ++last;
    const auto together = std::span(breaks).subspan(first, last - first);
    Difference difference;
    difference.kind = DifferenceKind::reset;
    difference.side = together.front().side;
    difference.bus = together.front().bus;
    difference.from_s = together.front().at_s;
    difference.to_s = together.back().at_s;
    // A count that went on `frames` times breaks off by a fault at most about once in so many.
    difference.chance = chance_of_luck(together) / std::max(1.0, frames);
    if (chance_of_luck(together) < 0.1) judged.differences.push_back(difference);
    first = last;
  }
}

}  // namespace

void note_counter_breaks(const MessagePair& pair, const std::optional<Span>& selector,
                         Judged& judged) {
  if (selector) return;  // a page that is sent out of turn would look like a break
  for (const CounterFinding& c : pair.a.survey->counters) note_side(pair.a, Side::a, c, judged);
  for (const CounterFinding& c : pair.b.survey->counters) note_side(pair.b, Side::b, c, judged);
}

void judge_resets(std::span<const MessagePair> pairs, Judged& judged) {
  std::array<double, 2> frames{};
  for (const MessagePair& pair : pairs) {
    if (pair.a.series != nullptr) frames[0] += static_cast<double>(pair.a.series->size());
    if (pair.b.series != nullptr) frames[1] += static_cast<double>(pair.b.series->size());
  }
  for (const Side side : {Side::a, Side::b}) {
    std::vector<CountBreak> breaks;
    std::copy_if(judged.breaks.begin(), judged.breaks.end(), std::back_inserter(breaks),
                 [side](const CountBreak& b) { return b.side == side; });
    judge_side(std::move(breaks), frames[side == Side::a ? 0 : 1], judged);
  }
}

}  // namespace foundling::held
