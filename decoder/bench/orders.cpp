// Plain random orders of a dozen steps often have two channels that go nearly alike. So pairs of
// steps are exchanged within one column at a time, and kept where the sum of r^4 over all pairs of
// columns falls: the fourth power looks mostly at the worst.
#include "decoder/bench/orders.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "decoder/bench/draw.h"

namespace foundling::bench {
namespace {

constexpr int tries_a_column = 60;
constexpr int rounds = 4;  // over the code words of a source, which share its levels

// A channel's values over the steps, less their mean, of length 1; all 0 where it does not move.
using Column = std::vector<double>;

Column standardised(Column values) {
  const auto n = static_cast<double>(values.size());
  const double mean = std::accumulate(values.begin(), values.end(), 0.0) / n;
  double sum = 0;
  for (double& v : values) {
    v -= mean;
    sum += v * v;
  }
  const double length = std::sqrt(sum);
  for (double& v : values) v = length > 0 ? v / length : 0;
  return values;
}

struct Place {  // of a column
  std::size_t knob;
  std::size_t channel;  // in sets
};

Column column_of(const std::vector<Knob>& knobs, const std::vector<KnobOrder>& orders,
                 const Place& place) {
  const KnobOrder& order = orders[place.knob];
  Column column;
  for (std::size_t s = 0; s < order.at.size(); ++s) {
    const double value = order.levels[order.at[s]];
    const bool idle = knobs[place.knob].in_sets && !order.covers[place.channel][s];
    column.push_back(idle ? knobs[place.knob].rest : value);
  }
  return standardised(std::move(column));
}

double alikeness(const std::vector<Column>& columns, std::size_t of, const Column& as) {
  double sum = 0;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    if (i == of) continue;
    const double r = std::inner_product(as.begin(), as.end(), columns[i].begin(), 0.0);
    sum += r * r * r * r;
  }
  return sum;
}

int changes_of(const KnobOrder& order) {
  int changes = 0;
  for (std::size_t s = 1; s < order.at.size(); ++s) {
    changes += order.at[s] == order.at[s - 1] ? 0 : 1;
  }
  return changes;
}

// Whether the channel is under the source at its least and its greatest level, and at enough levels
// for a straight line, rest being one of them.
bool tried_enough(const KnobOrder& order, std::size_t channel) {
  std::vector<bool> tried(order.levels.size(), false);
  for (std::size_t s = 0; s < order.at.size(); ++s) {
    if (order.covers[channel][s]) tried[order.at[s]] = true;
  }
  const auto wanted = std::min<std::ptrdiff_t>(fewest_levels - 1, std::ssize(tried));
  return !tried.empty() && tried.front() && tried.back() &&
         std::ranges::count(tried, true) >= wanted;
}

void exchange(const std::vector<Knob>& knobs, std::vector<KnobOrder>& orders, int steps,
              Random& random) {
  std::vector<Place> places;
  for (std::size_t k = 0; k < knobs.size(); ++k) {
    const std::size_t channels = knobs[k].in_sets ? knobs[k].channels.size() : 1;
    for (std::size_t c = 0; c < channels; ++c) places.push_back({k, c});
  }
  std::vector<Column> columns;
  for (const Place& place : places) columns.push_back(column_of(knobs, orders, place));
  std::vector<std::size_t> turns;
  for (int round = 0; round < rounds; ++round) {
    for (std::size_t i = 0; i < places.size(); ++i) {
      if (round == 0 || knobs[places[i].knob].in_sets) turns.push_back(i);
    }
  }
  for (const std::size_t i : turns) {
    const Place place = places[i];
    KnobOrder& order = orders[place.knob];
    double now = alikeness(columns, i, columns[i]);
    const int changes = knobs[place.knob].is_state() ? changes_of(order) : 0;
    const bool in_sets = knobs[place.knob].in_sets;
    for (int t = 0; t < tries_a_column; ++t) {
      const std::size_t a = random.below(static_cast<std::size_t>(steps));
      const std::size_t b = random.below(static_cast<std::size_t>(steps));
      const auto swap = [&] {
        if (in_sets) {
          std::vector<bool>& covers = order.covers[place.channel];
          const bool other = covers[a];
          covers[a] = covers[b];
          covers[b] = other;
        } else {
          std::swap(order.at[a], order.at[b]);
        }
      };
      swap();
      Column column = column_of(knobs, orders, place);
      const double then = alikeness(columns, i, column);
      const bool stiller =
          knobs[place.knob].is_state() && changes_of(order) < std::min(changes, fewest_changes);
      const bool too_little = in_sets && !tried_enough(order, place.channel);
      if (then < now && !stiller && !too_little) {
        now = then;
        columns[i] = std::move(column);
      } else {
        swap();
      }
    }
  }
}

// 0 1 2 0 1 2 ..., shuffled; a remainder is dealt at random.
std::vector<std::size_t> balanced(std::size_t levels, int steps, Random& random) {
  std::vector<std::size_t> deck(levels);
  std::iota(deck.begin(), deck.end(), std::size_t{0});
  random.shuffle(deck);
  std::vector<std::size_t> at;
  for (int s = 0; s < steps; ++s) at.push_back(deck[static_cast<std::size_t>(s) % levels]);
  random.shuffle(at);
  return at;
}

// Each channel is under the source in half of the steps.
std::vector<std::vector<bool>> cover(std::size_t channels, int steps, Random& random) {
  std::vector<std::vector<bool>> covers;
  for (std::size_t c = 0; c < channels; ++c) {
    std::vector<std::size_t> halves;
    for (int s = 0; s < steps; ++s) halves.push_back(static_cast<std::size_t>(s) % 2);
    random.shuffle(halves);
    covers.emplace_back();
    for (const std::size_t half : halves) covers.back().push_back(half == 1);
  }
  return covers;
}

KnobOrder draw_order(const Knob& knob, int most_levels, int steps, Random& random) {
  KnobOrder order;
  if (knob.is_state()) {
    for (std::size_t w = 0; w < knob.words.size(); ++w) {
      order.levels.push_back(static_cast<double>(w));
    }
  } else {
    order.levels = draw_levels(knob, std::min({knob.levels, most_levels, steps}), random);
  }
  order.at = balanced(order.levels.size(), steps, random);
  const int wanted = std::min(fewest_changes, steps / 2);
  for (int t = 0; knob.is_state() && t < 40 && changes_of(order) < wanted; ++t) {
    random.shuffle(order.at);
  }
  if (!knob.in_sets) return order;
  order.covers = cover(knob.channels.size(), steps, random);
  for (std::size_t c = 0; c < knob.channels.size(); ++c) {
    std::vector<bool>& covers = order.covers[c];
    for (int t = 0; t < 40 && !tried_enough(order, c); ++t) {
      for (std::size_t i = covers.size(); i > 1; --i) {
        const std::size_t j = random.below(i);
        const bool other = covers[i - 1];
        covers[i - 1] = covers[j];
        covers[j] = other;
      }
    }
  }
  return order;
}

}  // namespace

std::vector<KnobOrder> draw_orders(const std::vector<Knob>& knobs, int most_levels, int steps,
                                   Random& random) {
  std::vector<KnobOrder> orders;
  for (const Knob& knob : knobs) orders.push_back(draw_order(knob, most_levels, steps, random));
  exchange(knobs, orders, steps, random);
  return orders;
}

}  // namespace foundling::bench
