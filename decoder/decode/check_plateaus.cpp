#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <string_view>

#include "decoder/decode/check_pairs.h"
#include "schemas/values/nanoseconds.h"

namespace foundling {
namespace {

std::span<const double> numbers(const Track& track, const Rows& rows) {
  return std::span(track.number).subspan(rows.first, rows.size());
}

// Where the signal came to rest on a plateau: the mean of its last third.
std::optional<double> rest_level(const Track& track, const Plateau& plateau) {
  const std::int64_t third = (plateau.to_ns - plateau.from_ns) / 3;
  const Rows rows = rows_between(track, plateau.to_ns - third, plateau.to_ns);
  if (rows.size() == 0) return {};
  return middle_mean(numbers(track, rows));
}

struct Step {  // from one plateau to the next
  const Plateau* plateau;
  double from;
  double to;
};

// Changes that stand out from the noise, twenty steps of the raw value or more.
std::vector<Step> large_steps(const SignalEntry& entry, const Track& track,
                              const std::vector<Plateau>& plateaus) {
  std::vector<Step> steps;
  for (std::size_t i = 1; i < plateaus.size(); ++i) {
    const auto from = rest_level(track, plateaus[i - 1]);
    const auto to = rest_level(track, plateaus[i]);
    if (from && to && std::abs(*to - *from) >= 20 * std::abs(entry.scale)) {
      steps.push_back({&plateaus[i], *from, *to});
    }
  }
  return steps;
}

// When the signal had made 1 - 1/e of the step: pure delay plus time constant.
std::optional<double> crossing_s(const Track& track, const Step& step) {
  const double target = step.from + (step.to - step.from) * (1 - std::exp(-1.0));
  const Rows rows = rows_between(track, step.plateau->from_ns, step.plateau->to_ns);
  for (std::size_t i = rows.first; i < rows.last; ++i) {
    if ((track.number[i] - target) * (step.to - step.from) < 0) continue;
    auto at = static_cast<double>(track.t_ns[i] - step.plateau->from_ns) / 1e9;
    if (i > rows.first && track.number[i] != track.number[i - 1]) {
      const double back = (track.number[i] - target) / (track.number[i] - track.number[i - 1]);
      at -= back * static_cast<double>(track.t_ns[i] - track.t_ns[i - 1]) / 1e9;
    }
    return at;
  }
  return {};
}

// When the signal entered the band of 1 % or two raw steps around its rest for good.
double entry_s(const SignalEntry& entry, const Track& track, const Step& step) {
  const double band = std::max(0.01 * std::abs(step.to - step.from), 2 * std::abs(entry.scale));
  const std::int64_t third = (step.plateau->to_ns - step.plateau->from_ns) / 3;
  const Rows rows = rows_between(track, step.plateau->from_ns, step.plateau->to_ns - third);
  for (std::size_t i = rows.last; i > rows.first; --i) {
    if (std::abs(track.number[i - 1] - step.to) > band) {
      return static_cast<double>(track.t_ns[i - 1] - step.plateau->from_ns) / 1e9;
    }
  }
  return 0;
}

double measured_delay_s(const SignalEntry& entry, const Track& track,
                        const std::vector<Plateau>& plateaus) {
  std::vector<double> delays;
  for (const Step& step : large_steps(entry, track, plateaus)) {
    if (const auto at = crossing_s(track, step)) delays.push_back(*at);
  }
  return delays.empty() ? entry.delay_s + entry.time_constant_s : median(std::move(delays));
}

std::int64_t end_of(const Track& track) { return track.t_ns.empty() ? 0 : track.t_ns.back() + 1; }

void add_plateau(Pairs& pairs, const Plateau& plateau) {
  pairs.t_ns.push_back(plateau.from_ns);
  pairs.reading.push_back(plateau.reading);
}

// Of as many of two words the one that was shown first.
std::string most_frequent(const Track& track, const Rows& rows) {
  std::map<std::string_view, std::size_t> counts;
  for (std::size_t i = rows.first; i < rows.last; ++i) ++counts[track.word[i]];
  std::string_view best = track.word[rows.first];
  for (const auto& [word, count] : counts) {
    if (count > counts[best]) best = word;
  }
  return std::string(best);
}

}  // namespace

double settling_s(const SignalEntry& entry, const Track& track,
                  const std::vector<Plateau>& plateaus) {
  const double two_periods = 2 * period_s(track);
  if (entry.delay_s != 0 || entry.time_constant_s != 0) {
    constexpr double constants = 7;  // e^-7 is a thousandth of the step
    return std::max(0.0, entry.delay_s) + constants * entry.time_constant_s + two_periods;
  }
  if (!track.word.empty()) return std::max(0.5, two_periods);  // states say nothing on the way
  std::vector<double> entries;
  for (const Step& step : large_steps(entry, track, plateaus)) {
    entries.push_back(entry_s(entry, track, step));
  }
  if (entries.empty()) return std::max(0.5, two_periods);
  std::ranges::sort(entries);
  return entries[entries.size() * 9 / 10] + two_periods;
}

Pairs pair_plateaus(const SignalEntry& entry, const Track& track, const ChannelSeries& channel) {
  Pairs pairs;
  const std::vector<Plateau> all = plateaus(channel, end_of(track));
  pairs.possible = all.size();
  const std::vector<Rows> judged =
      judged_rows(track, all, nanoseconds_of(settling_s(entry, track, all)));
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (judged[i].size() == 0) continue;
    add_plateau(pairs, all[i]);
    pairs.bench.push_back(all[i].value);
    pairs.signal.push_back(middle_mean(numbers(track, judged[i])));
    pairs.uncertainty.push_back(all[i].uncertainty);
  }
  pairs.delay_s = measured_delay_s(entry, track, all);
  return pairs;
}

Pairs pair_states(const SignalEntry& entry, const Track& track, const ChannelSeries& channel) {
  Pairs pairs;
  const std::vector<Plateau> all = plateaus(channel, end_of(track));
  pairs.possible = all.size();
  const std::vector<Rows> judged =
      judged_rows(track, all, nanoseconds_of(settling_s(entry, track, all)));
  std::vector<double> delays;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const Plateau& plateau = all[i];
    const Rows whole = rows_between(track, plateau.from_ns, plateau.to_ns);
    for (std::size_t row = whole.first; row < whole.last && i > 0; ++row) {
      if (track.word[row] != plateau.state) continue;
      delays.push_back(static_cast<double>(track.t_ns[row] - plateau.from_ns) / 1e9);
      break;
    }
    if (judged[i].size() == 0) continue;
    std::string shown = most_frequent(track, judged[i]);
    add_plateau(pairs, plateau);
    pairs.bench.push_back(0);
    pairs.signal.push_back(shown == plateau.state ? 0 : 1);
    pairs.uncertainty.push_back(0);
    pairs.shown.push_back(std::move(shown));
  }
  pairs.delay_s = delays.empty() ? entry.delay_s : median(std::move(delays));
  return pairs;
}

}  // namespace foundling
