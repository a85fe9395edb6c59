#include "tests/bench/recovery/session.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace foundling::recovery {
namespace {

class Drafter {
 public:
  Drafter(const Recipe& recipe, Rng& rng) : recipe_(recipe), rng_(rng) {}
  Drafter(const Recipe& recipe, Rng& rng, const Session& session)
      : recipe_(recipe), rng_(rng), session_(session), again_(true) {}
  Session run() {
    draft_cells();
    draft_temperatures();
    draft_others();
    draft_switches();
    draft_silent();
    draft_followers();
    session_.plan = draw_plan(items_, recipe_, rng_);
    follow_plan();
    draft_samples();
    draft_decoys();
    draft_machines();
    draft_computed();
    return std::move(session_);
  }
  Session replay(Plan plan) {
    session_.plan = std::move(plan);
    session_.confounded = {};
    follow_plan();
    const double duration = session_.plan.duration_s;
    for (const DraftChannel& channel : session_.channels) {
      if (channel.item >= 0) continue;
      Quantity& q = quantity(channel.quantity);
      const Bounds range{q.low, q.high};
      q.path = channel.sent ? restless(range, duration, rng_) : slow_drift(range, duration, rng_);
    }
    for (std::size_t i = 0; i < session_.quantities.size(); ++i) {
      Quantity& q = session_.quantities[i];
      if (session_.origins[i] == Origin::machine) q.path = machine_course(switches_behind(i));
      if (session_.origins[i] != Origin::decoy) continue;
      q.path = rng_.chance(0.7) ? slow_drift({q.low, q.high}, duration, rng_)
                                : sine({q.low, q.high}, duration, rng_);
    }
    draft_computed();
    return std::move(session_);
  }

 private:
  std::vector<const DraftChannel*> switches_behind(std::size_t machine) const {
    std::vector<const DraftChannel*> found;
    for (const auto& [q, behind] : session_.machine_of) {
      if (q != static_cast<int>(machine)) continue;
      for (const DraftChannel& channel : session_.channels) {
        if (channel.quantity == behind) found.push_back(&channel);
      }
    }
    return found;
  }

  int add_quantity(std::string name, Kind kind, Bounds range, Origin origin, bool sent = true) {
    session_.quantities.push_back({unique(std::move(name)), kind, range.low, range.high, Track(0)});
    session_.origins.push_back(origin);
    session_.sent.push_back(sent);
    return static_cast<int>(session_.quantities.size()) - 1;
  }

  std::string unique(std::string name) {
    const int count = ++names_[name];
    return count == 1 ? name : name + "_" + std::to_string(count);
  }

  std::size_t add_channel(int quantity, int levels, bool sent = true) {
    const Quantity& q = session_.quantities[static_cast<std::size_t>(quantity)];
    DraftChannel channel;
    channel.quantity = quantity;
    channel.item = static_cast<int>(items_.size());
    channel.sent = sent;
    channel.levels = levels;
    set_instrument(channel, q);
    items_.push_back({q.low, q.high, levels, false, -1});
    session_.channels.push_back(channel);
    return session_.channels.size() - 1;
  }

  void set_instrument(DraftChannel& channel, const Quantity& q) {
    channel.uncertainty = (q.high - q.low) * rng_.log_uniform(1e-5, 3e-4);
    if (recipe_.gain_error > 0) {
      channel.gain = 1 + rng_.uniform(-5e-4, 5e-4);
      channel.zero = (q.high - q.low) * rng_.uniform(-2e-4, 2e-4);
    }
  }

  int draw_levels() { return rng_.integer(recipe_.levels_low, recipe_.levels_high); }

  // The chosen ones of a row of look-alikes are moved, the rest stay nearly still.
  void draft_row(Kind kind, const char* stem, int digits, int total, int moved) {
    const Bounds range = draw_range(kind, rng_);
    std::vector<int> order;
    for (int i = 0; i < total; ++i) order.push_back(i);
    rng_.shuffle(order);
    std::vector<bool> is_moved(static_cast<std::size_t>(total), false);
    for (int i = 0; i < std::min(moved, total); ++i) {
      is_moved[static_cast<std::size_t>(order[static_cast<std::size_t>(i)])] = true;
    }
    for (int i = 0; i < total; ++i) {
      std::string number = std::to_string(i + 1);
      while (static_cast<int>(number.size()) < digits) number.insert(0, 1, '0');
      const bool move = is_moved[static_cast<std::size_t>(i)];
      const int q = add_quantity(stem + number, kind, range, move ? Origin::moved : Origin::still);
      if (move) add_channel(q, draw_levels());
    }
  }

  void draft_cells() {
    draft_row(Kind::cell, "cell_", recipe_.cells >= 100 ? 3 : 2, recipe_.cells,
              recipe_.cells_moved);
  }

  void draft_temperatures() {
    draft_row(Kind::temperature, "temperature_", 1, recipe_.temperatures,
              recipe_.temperatures_moved);
  }

  void draft_others() {
    std::vector<Kind> kinds{Kind::pack_voltage, Kind::supply, Kind::insulation, Kind::flow,
                            Kind::pressure,     Kind::speed,  Kind::duty,       Kind::coil_current};
    rng_.shuffle(kinds);
    kinds.insert(kinds.begin(), Kind::current);
    for (std::size_t i = 0; i < kinds.size(); ++i) {
      const bool move = static_cast<int>(i) < recipe_.others_moved + 1;
      if (!move && i > 6) break;
      const int q = add_quantity(stem_of(kinds[i]), kinds[i], draw_range(kinds[i], rng_),
                                 move ? Origin::moved : Origin::still);
      const bool few = static_cast<int>(i) == recipe_.others_moved && recipe_.few_levels > 0;
      if (move) add_channel(q, few ? rng_.integer(2, 3) : draw_levels());
    }
  }

  void draft_switches() {
    std::vector<Switch> chosen = switches();
    rng_.shuffle(chosen);
    const int all = recipe_.states_moved + recipe_.silent_states;
    for (int i = 0; i < all && i < static_cast<int>(chosen.size()); ++i) {
      const Switch& one = chosen[static_cast<std::size_t>(i)];
      const auto count = static_cast<int>(one.words.size());
      const bool sent = i < recipe_.states_moved;
      const int q = add_quantity(one.name, Kind::state, {0, count - 1.0}, Origin::moved, sent);
      const std::size_t channel = add_channel(q, count, sent);
      items_.back().is_state = true;
      session_.channels[channel].words = one.words;
    }
  }

  void draft_silent() {
    static const std::vector<Kind> kinds{Kind::temperature, Kind::supply, Kind::cell,
                                         Kind::coil_current, Kind::current};
    for (int i = 0; i < recipe_.no_signal; ++i) {
      const Kind kind = rng_.pick(kinds);
      const std::string name = std::string("aux_") + stem_of(kind);
      const int q = add_quantity(name, kind, draw_range(kind, rng_), Origin::moved, false);
      add_channel(q, draw_levels(), false);
    }
  }

  // Channels that always move together with an earlier one.
  void draft_followers() {
    std::vector<std::size_t> leaders;
    for (std::size_t i = 0; i < session_.channels.size(); ++i) {
      const DraftChannel& channel = session_.channels[i];
      if (channel.words.empty() && channel.sent && channel.levels >= 5) leaders.push_back(i);
    }
    rng_.shuffle(leaders);
    for (int s = 0; s < recipe_.confounded_sets; ++s) {
      const auto size = static_cast<std::size_t>(rng_.integer(2, 3));
      if (leaders.size() < size + 2) return;
      std::vector<std::size_t> set(leaders.end() - static_cast<std::ptrdiff_t>(size),
                                   leaders.end());
      leaders.resize(leaders.size() - size);
      for (std::size_t i = 1; i < size; ++i) {
        items_[set[i]].follows = static_cast<int>(set[0]);
        session_.channels[set[i]].levels = session_.channels[set[0]].levels;
      }
      std::sort(set.begin(), set.end());
      session_.confounded.push_back(set);
    }
  }

  void follow_plan() {
    const double duration = session_.plan.duration_s;
    for (const DraftChannel& channel : session_.channels) {
      if (channel.item < 0) continue;
      Quantity& q = quantity(channel.quantity);
      const auto& changes = session_.plan.changes[static_cast<std::size_t>(channel.item)];
      const bool is_state = !channel.words.empty();
      q.path = Track(changes.front().value);
      for (std::size_t i = 1; i < changes.size(); ++i) {
        q.path.step(changes[i].t_s, changes[i].value, is_state ? 0 : rng_.uniform(0.02, 0.3));
      }
    }
    for (std::size_t i = 0; i < session_.quantities.size(); ++i) {
      if (session_.origins[i] != Origin::still) continue;
      Quantity& q = session_.quantities[i];
      const double width = q.high - q.low;
      q.path = almost_still(q.low + width * rng_.uniform(0.5, 0.6), width * 3e-3, duration, rng_);
    }
  }

  void draft_samples() {
    static const std::vector<Kind> kinds{Kind::current, Kind::flow,         Kind::speed,
                                         Kind::duty,    Kind::coil_current, Kind::temperature};
    for (int i = 0; i < recipe_.samples; ++i) {
      const Kind kind = rng_.pick(kinds);
      add_sample(std::string("load_") + stem_of(kind), kind, true);
    }
    // A slow quantity that an instrument follows and the board does not know.
    if (recipe_.no_signal > 4) add_sample("room_temperature", Kind::temperature, false);
    for (int i = 0; i < recipe_.silent_samples; ++i) {
      const Kind kind = rng_.pick(kinds);
      add_sample(std::string("meter_") + stem_of(kind), kind, false);
      Quantity& q = session_.quantities.back();
      if (i % 2 == 0) q.path = restless({q.low, q.high}, session_.plan.duration_s, rng_);
    }
  }

  void add_sample(const std::string& name, Kind kind, bool sent) {
    const Bounds range = draw_range(kind, rng_);
    const int q = add_quantity(name, kind, range, Origin::moved, sent);
    const double duration = session_.plan.duration_s;
    quantity(q).path = sent ? restless(range, duration, rng_) : slow_drift(range, duration, rng_);
    DraftChannel channel;
    channel.quantity = q;
    channel.kind = ChannelKind::sample;
    channel.sent = sent;
    channel.levels = 100;
    set_instrument(channel, quantity(q));
    session_.channels.push_back(channel);
  }

  void draft_decoys() {
    static const std::vector<Kind> kinds{Kind::temperature, Kind::supply, Kind::pressure,
                                         Kind::cell, Kind::current};
    const double duration = session_.plan.duration_s;
    for (int i = 0; i < recipe_.decoys; ++i) {
      const Kind kind = rng_.pick(kinds);
      const Bounds range = draw_range(kind, rng_);
      const int q = add_quantity(std::string("decoy_") + stem_of(kind), kind, range, Origin::decoy);
      quantity(q).path =
          rng_.chance(0.7) ? slow_drift(range, duration, rng_) : sine(range, duration, rng_);
    }
  }

  // off -> starting -> one of two running states by a second switch, or now and then a fault.
  void draft_machines() {
    std::vector<const DraftChannel*> found;
    for (const DraftChannel& channel : session_.channels) {
      if (!channel.words.empty() && channel.sent) found.push_back(&channel);
    }
    for (int m = 0; m < recipe_.state_machines; ++m) {
      const int q = add_quantity("state_machine", Kind::state, {0, 4}, Origin::machine);
      rng_.shuffle(found);
      quantity(q).path = machine_course(found);
      if (!found.empty()) session_.machine_of.emplace_back(q, found[0]->quantity);
    }
  }

  Track machine_course(const std::vector<const DraftChannel*>& found) {
    Track track(0);
    const double duration = session_.plan.duration_s;
    for (double t = 5; t < duration - 2;) {
      bool on = rng_.chance(0.6);
      double next = t + rng_.uniform(8, 40);
      if (!found.empty()) {
        const auto& changes = session_.plan.changes[static_cast<std::size_t>(found[0]->item)];
        const auto later = std::find_if(changes.begin(), changes.end(),
                                        [&](const Change& change) { return change.t_s > t; });
        on = later != changes.begin() && (later - 1)->value > 0;
        next = later == changes.end() ? duration : later->t_s;
      }
      double running = rng_.chance(0.5) ? 2 : 3;
      if (found.size() > 1) running = quantity(found[1]->quantity).path.at(t) > 0 ? 3 : 2;
      if (rng_.chance(0.2)) running = 4;
      track.step(t + 0.2, on ? 1 : 0, 0);
      if (on) track.step(t + 1.2, running, 0);
      t = std::max(next, t + 1.5);
    }
    return track;
  }

  void add_computed(const char* name, Kind kind, Track track) {
    for (Quantity& q : session_.quantities) {
      if (again_ && q.name == name) q.path = track;
    }
    if (again_) return;
    Bounds range{1e18, -1e18};
    for (double t = 0; t < session_.plan.duration_s; t += 0.5) {
      range.low = std::min(range.low, track.at(t));
      range.high = std::max(range.high, track.at(t));
    }
    range.high = std::max(range.high, range.low + 1e-3 * std::abs(range.low) + 1e-3);
    const int q = add_quantity(name, kind, range, Origin::computed);
    quantity(q).path = std::move(track);
  }

  void draft_computed() {
    if (recipe_.cells_moved >= 3) draft_cell_figures();
    Track charge;
    const Quantity* current = named("pack_current");
    double sum = rng_.uniform(20, 60);
    for (double t = 0; t <= session_.plan.duration_s; t += 0.5) {
      charge.add(t, sum);
      sum += current->path.at(t) * 0.5 / 3600;
    }
    Track power;
    const Quantity* voltage = named("pack_voltage");
    if (voltage != nullptr &&
        session_.origins[static_cast<std::size_t>(voltage - session_.quantities.data())] ==
            Origin::moved) {
      for (double t = 0; t <= session_.plan.duration_s; t += 0.1) {
        power.add(t, voltage->path.at(t) * current->path.at(t) / 1000);
      }
      add_computed("power", Kind::power, std::move(power));
    }
    add_computed("charge", Kind::charge, std::move(charge));
  }

  void draft_cell_figures() {
    std::vector<const Track*> cells;
    for (const Quantity& q : session_.quantities) {
      if (q.name.rfind("cell_", 0) == 0) cells.push_back(&q.path);
    }
    Track least, greatest, mean, sum;
    for (double t = 0; t <= session_.plan.duration_s; t += 0.1) {
      double low = 1e9, high = -1e9, total = 0;
      for (const Track* cell : cells) {
        const double value = cell->at(t);
        low = std::min(low, value);
        high = std::max(high, value);
        total += value;
      }
      least.add(t, low);
      greatest.add(t, high);
      mean.add(t, total / static_cast<double>(cells.size()));
      sum.add(t, total);
    }
    add_computed("cells_least", Kind::cell, std::move(least));
    add_computed("cells_greatest", Kind::cell, std::move(greatest));
    add_computed("cells_mean", Kind::cell, std::move(mean));
    add_computed("cells_sum", Kind::pack_voltage, std::move(sum));
  }

  Quantity& quantity(int i) { return session_.quantities[static_cast<std::size_t>(i)]; }

  const Quantity* named(const char* name) const {
    for (const Quantity& q : session_.quantities) {
      if (q.name == name) return &q;
    }
    return nullptr;
  }

  const Recipe& recipe_;
  Rng& rng_;
  Session session_;
  bool again_ = false;  // the quantities are there already
  std::vector<PlanItem> items_;
  std::map<std::string, int> names_;
};

}  // namespace

Session draw_session(const Recipe& recipe, Rng& rng) { return Drafter(recipe, rng).run(); }

Session play_again(const Session& session, const Recipe& recipe, Plan plan, Rng& rng) {
  return Drafter(recipe, rng, session).replay(std::move(plan));
}

}  // namespace foundling::recovery
