#include <algorithm>
#include <cmath>

#include "decoder/against/blocks.h"
#include "decoder/against/judgements.h"

namespace foundling::held {
namespace {

// Oscillators on one bus differ by less than 1.6 % (ISO 11898-1), else nobody could listen; a
// period that differs by less than this may be another adapter's clock.
constexpr double least_period_change = 0.016;
constexpr double least_jitter_ratio = 3;
constexpr double least_jitter = 0.01;  // of the period: less is the recorder's own
constexpr double least_rate_ratio = 1.5;

struct Gaps {
  std::vector<double> blocks;    // middle time between frames
  std::vector<double> jitter;    // robust deviation from it
  std::vector<double> by_clock;  // share of times near it
  double period = 0;
};

Gaps gaps_of(const MessageSeries& series) {
  Gaps result;
  std::vector<double> gaps;
  for (std::size_t i = 1; i < series.size(); ++i) {
    gaps.push_back(static_cast<double>(series.t_ns[i] - series.t_ns[i - 1]) / 1e9);
  }
  result.blocks = block_means(gaps);
  result.period = middle_mean(gaps);
  for (std::size_t i = 0; i < block_count(gaps.size()); ++i) {
    const auto [from, to] = block_of(gaps.size(), i);
    std::vector<double> deviations;
    double near = 0;
    for (std::size_t j = from; j < to; ++j) {
      deviations.push_back(std::abs(gaps[j] - result.period));
      near += deviations.back() <= 0.3 * result.period ? 1 : 0;
    }
    result.by_clock.push_back(near / static_cast<double>(to - from));
    result.jitter.push_back(1.4826 * middle_mean(std::move(deviations)));
  }
  return result;
}

double least_of(const std::vector<double>& v) { return *std::min_element(v.begin(), v.end()); }
double most_of(const std::vector<double>& v) { return *std::max_element(v.begin(), v.end()); }
bool regular(const Gaps& g) { return least_of(g.by_clock) >= 0.8; }

// Frames a second in equal stretches of the whole recording.
std::vector<double> rates_of(const OneSide& side) {
  std::vector<double> counts(most_blocks, 0);
  const double whole = std::max(side.window.seconds(), 1e-9);
  for (const std::int64_t t : side.series->t_ns) {
    const double at = side.second(t) / whole * static_cast<double>(most_blocks);
    counts[std::min(most_blocks - 1, static_cast<std::size_t>(std::max(at, 0.0)))] += 1;
  }
  for (double& count : counts) count *= static_cast<double>(most_blocks) / whole;
  return counts;
}

void judge_gaps(const MessagePair& pair, Judged& judged) {
  const Gaps a = gaps_of(*pair.a.series);
  const Gaps b = gaps_of(*pair.b.series);
  judged.comparisons += 4;
  if (a.blocks.empty() || b.blocks.empty()) return;
  const double chance = chance_of_order(a.blocks.size(), b.blocks.size());
  const auto say = [&](DifferenceKind kind, double in_a, double in_b) {
    Difference difference = pair.difference(kind);
    difference.a = in_a;
    difference.b = in_b;
    difference.side = in_a > in_b ? Side::a : Side::b;
    difference.chance = chance;
    judged.differences.push_back(difference);
  };
  if (regular(a) && regular(b)) {
    const Levels levels = levels_of(a.blocks, b.blocks);
    if (levels.apart(least_period_change * std::min(a.period, b.period))) {
      say(DifferenceKind::period, levels.a, levels.b);
    } else if (apart_in_ratio(a.jitter, b.jitter, least_jitter_ratio) &&
               std::max(least_of(a.jitter), least_of(b.jitter)) >
                   least_jitter * std::min(a.period, b.period)) {
      say(DifferenceKind::jitter, middle_mean(a.jitter), middle_mean(b.jitter));
    }
    return;
  }
  if ((regular(a) && most_of(b.by_clock) < 0.7) || (regular(b) && most_of(a.by_clock) < 0.7)) {
    say(DifferenceKind::regularity, middle_mean(a.by_clock), middle_mean(b.by_clock));
    return;
  }
  const std::vector<double> rate_a = rates_of(pair.a);
  const std::vector<double> rate_b = rates_of(pair.b);
  const Levels levels = levels_of(rate_a, rate_b);
  // A rate that drifts goes on in the other recording where it ended: no ratio between its blocks.
  if (apart_in_ratio(rate_a, rate_b, least_rate_ratio)) {
    say(DifferenceKind::rate, levels.a, levels.b);
  }
}

// The one length of all frames; nothing if there are several.
std::optional<int> one_length(const MessageSeries& series) {
  if (series.lengths.empty()) return series.length;
  const auto same = std::adjacent_find(series.lengths.begin(), series.lengths.end(),
                                       std::not_equal_to<>()) == series.lengths.end();
  return same ? std::optional<int>(series.lengths.front()) : std::nullopt;
}

// In how many blocks a frame of another length than this came.
std::size_t blocks_with_another(const MessageSeries& series, int length) {
  std::size_t blocks = 0;
  for (std::size_t i = 0; i < block_count(series.size()); ++i) {
    const auto [from, to] = block_of(series.size(), i);
    const auto first = series.lengths.begin() + static_cast<std::ptrdiff_t>(from);
    const auto last = series.lengths.begin() + static_cast<std::ptrdiff_t>(to);
    if (std::any_of(first, last, [&](std::uint8_t n) { return n != length; })) ++blocks;
  }
  return blocks;
}

void judge_length(const MessagePair& pair, Judged& judged) {
  const auto a = one_length(*pair.a.series);
  const auto b = one_length(*pair.b.series);
  ++judged.comparisons;
  const bool other = a && b && *a != *b;
  const bool varies = a.has_value() != b.has_value();
  if (!other && !varies) return;
  const std::size_t ka = block_count(pair.a.series->size());
  const std::size_t kb = block_count(pair.b.series->size());
  Difference difference = pair.difference(other ? DifferenceKind::length : DifferenceKind::lengths);
  difference.a = pair.a.series->length;
  difference.b = pair.b.series->length;
  difference.side = other ? (*a > *b ? Side::a : Side::b) : (a ? Side::b : Side::a);
  difference.chance = chance_of_order(ka, kb);
  if (varies) {
    const MessageSeries& varied = a ? *pair.b.series : *pair.a.series;
    difference.chance = chance_all_in_one(blocks_with_another(varied, a ? *a : *b), ka, kb);
  }
  judged.differences.push_back(difference);
}

void judge_format(const MessagePair& pair, Judged& judged) {
  const auto all = [](const OneSide& side) { return side.fd_frames == side.series->size(); };
  ++judged.comparisons;
  const bool in_a = all(pair.a) && pair.b.fd_frames == 0;
  const bool in_b = all(pair.b) && pair.a.fd_frames == 0;
  if (in_a == in_b) return;
  Difference difference = pair.difference(DifferenceKind::format);
  difference.side = in_a ? Side::a : Side::b;
  difference.chance =
      chance_of_order(block_count(pair.a.series->size()), block_count(pair.b.series->size()));
  judged.differences.push_back(difference);
}

}  // namespace

void judge_timing(const MessagePair& pair, Judged& judged) {
  judge_gaps(pair, judged);
  judge_length(pair, judged);
  judge_format(pair, judged);
}

void judge_presence(const MessagePair& pair, Judged& judged) {
  const bool in_a = pair.a.series != nullptr;
  const OneSide& here = in_a ? pair.a : pair.b;
  const OneSide& there = in_a ? pair.b : pair.a;
  // The longer recording has 16 stretches of time, the shorter one as many as it is long.
  const double longest = std::max({here.window.seconds(), there.window.seconds(), 1e-9});
  const double stretch = longest / static_cast<double>(most_blocks);
  const auto stretches = [&](double seconds) {
    return static_cast<std::size_t>(std::lround(seconds / stretch));
  };
  std::vector<bool> came(most_blocks, false);
  for (const std::int64_t t : here.series->t_ns) {
    came[std::min(most_blocks - 1, static_cast<std::size_t>(here.second(t) / stretch))] = true;
  }
  const auto k = static_cast<std::size_t>(std::count(came.begin(), came.end(), true));
  const std::size_t of_here = std::max(k, stretches(here.window.seconds()));
  ++judged.comparisons;
  Difference difference = pair.difference(DifferenceKind::only_in_one);
  difference.side = in_a ? Side::a : Side::b;
  difference.chance = chance_all_in_one(k, of_here, stretches(there.window.seconds()));
  judged.differences.push_back(difference);
}

}  // namespace foundling::held
