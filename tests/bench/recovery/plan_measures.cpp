#include "tests/bench/recovery/plan_measures.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "decoder/bench/courses.h"
#include "decoder/bench/draw.h"
#include "tests/bench/recovery/place.h"

namespace foundling::recovery {
namespace {

const Quantity& quantity_of(const Session& session, const DraftChannel& channel) {
  return session.quantities[static_cast<std::size_t>(channel.quantity)];
}

// Indices of the session's channels that somebody sets, by plan item.
std::vector<const DraftChannel*> set_channels(const Session& session) {
  std::vector<const DraftChannel*> channels;
  for (const DraftChannel& channel : session.channels) {
    if (channel.item >= 0) channels.push_back(&channel);
  }
  std::ranges::sort(channels, {}, &DraftChannel::item);
  return channels;
}

double level(const Session& session, const DraftChannel& channel, int k, int of) {
  const Quantity& q = quantity_of(session, channel);
  if (!channel.words.empty()) return k % static_cast<int>(channel.words.size());
  return q.low + (q.high - q.low) * (of > 1 ? k / (of - 1.0) : 0.5);
}

int levels_of(const DraftChannel& channel, int share) {
  if (!channel.words.empty()) return std::max(share, 2);
  return std::max(2, std::min(share, bench::default_levels));
}

// Channel after channel; each gets its share of the steps. In random order a level comes back only
// after all have been, and every level stands somewhere in its share of the range.
void singly(Plan& plan, const Session& session, int steps, double hold_s, bool random, Rng& rng) {
  const auto channels = set_channels(session);
  const int share = steps / static_cast<int>(channels.size());
  const int spare = steps % static_cast<int>(channels.size());
  double t = hold_s;
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < channels.size(); ++i) order.push_back(i);
  if (random) rng.shuffle(order);
  for (std::size_t n = 0; n < order.size(); ++n) {
    const DraftChannel& channel = *channels[order[n]];
    const int own = share + (static_cast<int>(n) < spare ? 1 : 0);
    const int count = levels_of(channel, own);
    std::vector<int> deck;
    for (int s = 0; s < own; ++s) {
      if (s % count == 0) {
        deck.clear();
        for (int k = 0; k < count; ++k) deck.push_back(k);
        if (random) rng.shuffle(deck);
      }
      const int k = deck[static_cast<std::size_t>(s % count)];
      double value = level(session, channel, k, count);
      if (random && channel.words.empty() && k > 0 && k < count - 1) {
        const Quantity& q = quantity_of(session, channel);
        value += (q.high - q.low) / (count - 1) * rng.uniform(-0.35, 0.35);
      }
      plan.changes[order[n]].push_back({t, value});
      t += hold_s;
    }
  }
}

void in_rows(Plan& plan, const Session& session, int steps, double hold_s) {
  const auto channels = set_channels(session);
  for (std::size_t i = 0; i < channels.size(); ++i) {
    const int count = levels_of(*channels[i], steps);
    for (int s = 0; s < steps; ++s) {
      const double value = level(session, *channels[i], s % count, count);
      plan.changes[i].push_back({hold_s * (s + 1), value});
    }
  }
}

}  // namespace

bench::Plan head_of(const Session& session, double hold_s) {
  bench::Plan head;
  head.hold_s = hold_s;
  for (const DraftChannel* channel : set_channels(session)) {
    const Quantity& q = quantity_of(session, *channel);
    bench::PlanChannel c;
    c.name = q.name;
    c.unit = unit_of(q.kind);
    c.words = channel->words;
    c.low = q.low;
    c.high = q.high;
    c.set_time_s = 0;
    c.settle_s = std::min(3.0, hold_s);
    head.channels.push_back(std::move(c));
  }
  return head;
}

Plan carried_out(const bench::Plan& plan, const Session& session) {
  Plan out;
  const auto channels = set_channels(session);
  const auto courses = bench::courses_of(plan);
  for (const DraftChannel* channel : channels) {
    const Quantity& q = quantity_of(session, *channel);
    const auto course = std::ranges::find(courses, q.name, &bench::Course::name);
    out.changes.push_back({{0, channel->words.empty() ? q.low : 0}});
    if (course == courses.end()) continue;
    auto& changes = out.changes.back();
    changes.front().value = course->values.front();
    double t = 0;
    for (std::size_t s = 0; s < course->values.size(); ++s) {
      if (course->values[s] != changes.back().value) changes.push_back({t, course->values[s]});
      t += plan.hold_of(plan.steps[s]);
    }
  }
  for (const bench::Step& step : plan.steps) out.duration_s += plan.hold_of(step);
  return out;
}

Plan course(Way way, const Session& session, double duration_s, double hold_s, std::uint64_t seed) {
  Rng rng(seed);
  const int steps = std::max(static_cast<int>(duration_s / hold_s) - 2, 2);
  if (way == Way::drawn) {
    // Steps on the way cost time too: as many drawn ones as fit.
    for (int drawn_steps = steps;; --drawn_steps) {
      const auto drawn = bench::draw_steps(head_of(session, hold_s), seed, drawn_steps, 1000);
      Plan plan = carried_out(drawn->plan, session);
      if (plan.duration_s <= duration_s || drawn_steps <= 2) return plan;
    }
  }
  Plan plan;
  plan.duration_s = hold_s * (steps + 2);
  for (const DraftChannel* channel : set_channels(session)) {
    plan.changes.push_back({{0, level(session, *channel, 0, 2)}});
  }
  if (way == Way::row_staircase) {
    in_rows(plan, session, steps, hold_s);
  } else {
    singly(plan, session, steps, hold_s, way == Way::one_at_a_time, rng);
  }
  return plan;
}

Identified identify(const RandomBoard& board, const Correlation& answer) {
  Identified out;
  for (std::size_t i = 0; i < board.truth.channels.size(); ++i) {
    const TrueChannel& channel = board.truth.channels[i];
    const bool settable = board.channels[i].channel.kind == ChannelKind::hold;
    if (!settable || channel.fields.empty()) continue;
    ++out.channels;
    for (const Proposal& p : answer.proposals) {
      if (p.channel != channel.name || p.derived || p.rank != 1) continue;
      if (p.verdict != Verdict::strong) continue;
      const bool good = std::ranges::any_of(channel.fields, [&](const TrueField& field) {
        return same_place(*find_message(board.messages, field.bus, field.id), field, p.place);
      });
      ++(good ? out.good : out.wrong);
    }
  }
  return out;
}

}  // namespace foundling::recovery
