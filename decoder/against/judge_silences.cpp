#include <algorithm>
#include <cmath>
#include <map>

#include "decoder/against/judgements.h"

namespace foundling::held {
namespace {

constexpr double least_periods = 10;  // a silence shorter than this may be lost frames
constexpr double least_seconds = 1;
constexpr double at_once_s = 0.5;  // messages that fall silent together do so within this
constexpr std::size_t least_frames = 16;

struct Silence {
  const MessagePair* pair = nullptr;
  Side side = Side::a;
  double from_s = 0, to_s = 0;
  double chance = 1;
};

// The longest time without a frame, the edges of the recording included.
Silence longest(const MessagePair& pair, Side which) {
  const OneSide& side = which == Side::a ? pair.a : pair.b;
  const auto& t = side.series->t_ns;
  Silence found{&pair, which, 0, side.second(t.front()), 1};
  const auto consider = [&](double from, double to) {
    if (to - from > found.to_s - found.from_s) {
      found.from_s = from;
      found.to_s = to;
    }
  };
  for (std::size_t i = 1; i < t.size(); ++i) consider(side.second(t[i - 1]), side.second(t[i]));
  consider(side.second(t.back()), side.window.seconds());
  return found;
}

// Each period without its frame is as likely as the frames lost elsewhere make it.
double chance_of_losses(const OneSide& side, double silence_s) {
  const double period = side.survey->period_s;
  const auto& t = side.series->t_ns;
  double lost = 1;
  for (std::size_t i = 1; i < t.size(); ++i) {
    const double periods = static_cast<double>(t[i] - t[i - 1]) / 1e9 / period;
    if (periods > 1.5 && periods < least_periods) lost += std::round(periods) - 1;
  }
  const auto n = static_cast<double>(t.size());
  return std::min(1.0, n * std::pow(lost / (n + lost), silence_s / period - 1));
}

bool by_the_clock(const OneSide& side) {
  return side.survey->frames >= least_frames && !side.survey->event_driven &&
         side.survey->period_s > 0 && side.survey->jitter_s < 0.3 * side.survey->period_s;
}

void look(const MessagePair& pair, Side which, std::vector<Silence>& silences) {
  const OneSide& here = which == Side::a ? pair.a : pair.b;
  const OneSide& there = which == Side::a ? pair.b : pair.a;
  if (!by_the_clock(here) || !by_the_clock(there)) return;
  Silence silence = longest(pair, which);
  const Silence other = longest(pair, which == Side::a ? Side::b : Side::a);
  const double length = silence.to_s - silence.from_s;
  const double least = std::max(least_seconds, least_periods * here.survey->period_s);
  if (length < least || other.to_s - other.from_s > length / 2) return;
  silence.chance = chance_of_losses(here, length);
  silences.push_back(silence);
}

Difference difference_of(const Silence& s, bool whole_bus) {
  Difference difference = s.pair->difference(DifferenceKind::silence);
  if (whole_bus) difference.id.reset();
  difference.side = s.side;
  difference.from_s = s.from_s;
  difference.to_s = s.to_s;
  difference.chance = s.chance;
  return difference;
}

// How many messages of the bus could have shown a silence of that length.
std::size_t could_show(std::span<const MessagePair> pairs, const Silence& s) {
  std::size_t n = 0;
  for (const MessagePair& pair : pairs) {
    if (pair.bus != s.pair->bus || pair.a.survey == nullptr || pair.b.survey == nullptr) continue;
    const OneSide& side = s.side == Side::a ? pair.a : pair.b;
    const double least = std::max(least_seconds, least_periods * side.survey->period_s);
    if (by_the_clock(side) && least <= s.to_s - s.from_s) ++n;
  }
  return n;
}

}  // namespace

void judge_silences(std::span<const MessagePair> pairs, Judged& judged) {
  std::vector<Silence> silences;
  for (const MessagePair& pair : pairs) {
    if (pair.a.survey == nullptr || pair.b.survey == nullptr) continue;
    ++judged.comparisons;
    look(pair, Side::a, silences);
    look(pair, Side::b, silences);
  }
  while (!silences.empty()) {
    // The shortest of those that began together tells best when all were silent.
    const Silence first = *std::min_element(
        silences.begin(), silences.end(),
        [](const Silence& x, const Silence& y) { return x.to_s - x.from_s < y.to_s - y.from_s; });
    const auto together = [&](const Silence& s) {
      return s.pair->bus == first.pair->bus && s.side == first.side &&
             s.from_s <= first.from_s + at_once_s && s.to_s >= first.to_s - at_once_s;
    };
    const auto n =
        static_cast<std::size_t>(std::count_if(silences.begin(), silences.end(), together));
    const bool whole = n >= 2 && n >= could_show(pairs, first);
    for (const Silence& s : silences) {
      if (!together(s)) continue;
      judged.differences.push_back(difference_of(s, whole));
      if (whole) break;
    }
    std::erase_if(silences, together);
  }
}

}  // namespace foundling::held
