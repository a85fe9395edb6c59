#include "tests/bench/recovery/random_board.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "tests/bench/recovery/exposure.h"
#include "tests/bench/recovery/fields.h"
#include "tests/bench/recovery/foreign.h"
#include "tests/bench/recovery/hand.h"
#include "tests/bench/recovery/session.h"
#include "tests/bench/recovery/simulate.h"
#include "tests/bench/recovery/slips.h"
#include "tests/bench/recovery/substitutes.h"

namespace foundling::recovery {
namespace {

// Two channels that were always changed at the same readings to values that map one to one.
bool move_alike(const ChannelSeries& a, const ChannelSeries& b) {
  if (a.channel.is_state() != b.channel.is_state()) return false;
  if (!a.channel.is_state() || a.readings.size() != b.readings.size()) return false;
  std::map<std::string, std::string> there, back;
  for (std::size_t i = 0; i < a.readings.size(); ++i) {
    if (std::abs(a.readings[i].t_ns - b.readings[i].t_ns) > 100'000'000) return false;
    const std::string& x = a.readings[i].state;
    const std::string& y = b.readings[i].state;
    if (there.emplace(x, y).first->second != y || back.emplace(y, x).first->second != x)
      return false;
  }
  return true;
}

// Readings as rows of a capture: 1, 2, ... in the order in which they were written down.
void number_readings(RandomBoard& board) {
  std::vector<std::tuple<std::int64_t, std::size_t, Reading*>> order;
  for (std::size_t c = 0; c < board.channels.size(); ++c) {
    for (Reading& reading : board.channels[c].readings)
      order.emplace_back(reading.t_ns, c, &reading);
  }
  std::stable_sort(order.begin(), order.end(), [](const auto& a, const auto& b) {
    return std::tie(std::get<0>(a), std::get<1>(a)) < std::tie(std::get<0>(b), std::get<1>(b));
  });
  std::map<std::int64_t, std::int64_t> now;  // by the number before
  std::int64_t next = 0;
  for (const auto& [t_ns, c, reading] : order) {
    now[reading->id] = ++next;
    reading->id = next;
  }
  for (TrueChannel& channel : board.truth.channels) {
    for (Reading& reading : channel.honest) reading.id = now[reading.id];
    for (TrueSlip& slip : channel.slips) slip.reading = now[slip.reading];
    for (std::int64_t& id : channel.doubtful) id = now[id];
  }
}

class Assembler {
 public:
  Assembler(Family family, const Recipe& recipe, std::uint64_t seed, Rng& rng, Rng& apart)
      : family_(family),
        recipe_(recipe),
        rng_(rng),
        apart_(apart),
        readings_rng_(seed ^ 0x5EED5EED5EEDU) {}

  RandomBoard run(const Replan& replan) {
    session_ = draw_session(recipe_, rng_);
    messages_ = draw_messages(session_, recipe_, rng_);
    order_messages();
    if (replan) session_ = play_again(session_, recipe_, replan(session_, recipe_), rng_);
    written_in_ = session_;
    const bool other_session = family_ == Family::foreign && apart_.chance(0.5);
    if (other_session) written_in_ = another_session(session_, recipe_, apart_);
    disturb_messages(family_, session_.plan.duration_s, session_.quantities, messages_, apart_);
    for (const MessageSpec& message : messages_) {
      SentMessage sent = simulate(message, session_.quantities, session_.plan.duration_s, rng_);
      if (sent.series.size() == 0) continue;
      note_message(message, sent);
      board_.messages.push_back(std::move(sent.series));
    }
    note_channels();
    note_cells_sum();
    disturb_readings(other_session);
    return std::move(board_);
  }

 private:
  void order_messages() {
    std::sort(messages_.begin(), messages_.end(), [](const MessageSpec& a, const MessageSpec& b) {
      const auto key = [](const MessageSpec& m) {
        return std::tuple(m.bus, m.id.is_extended(), m.id.number());
      };
      return key(a) < key(b);
    });
  }

  TrueField describe(const MessageSpec& message, const FieldSpec& spec, const SentField& sent) {
    TrueField field;
    field.quantity = session_.quantities[static_cast<std::size_t>(spec.quantity)].name;
    field.bus = message.bus;
    field.id = message.id;
    if (spec.page >= 0) {
      field.page = TruePage{*message.selector, message.pages[static_cast<std::size_t>(spec.page)]};
    }
    field.span = spec.span;
    field.is_signed = spec.code.is_signed;
    field.is_float = spec.code.is_float;
    field.scale = spec.code.scale;
    field.offset = spec.code.offset;
    field.curve = spec.code.curve;
    const double half = spec.truncates && !spec.code.is_float ? spec.code.scale / 2 : 0;
    field.line_scale = spec.code.scale / spec.gain;
    field.line_offset = (spec.code.offset + half - spec.zero) / spec.gain;
    field.delay_s = spec.delay_s + spec.update_s / 2;
    field.time_constant_s = spec.time_constant_s;
    field.noise = spec.noise;
    field.moved = sent.moved;
    field.moved_at_all = sent.moved_at_all;
    field.ordinary_from_s = spec.reserved_until_s;
    for (const Substitute& one : spec.substitutes) field.substituted.push_back(one.during);
    for (const Substitute& one : message.blanks) field.substituted.push_back(one.during);
    field.saturates_below = spec.least;
    field.saturates_above = spec.most;
    return field;
  }

  void note_message(const MessageSpec& message, const SentMessage& sent) {
    TrueMessage truth;
    truth.bus = message.bus;
    truth.id = message.id;
    for (std::size_t i = 0; i < message.fields.size(); ++i) {
      const FieldSpec& spec = message.fields[i];
      if (spec.use == FieldSpec::Use::counter) {
        truth.counters.push_back({spec.span, spec.step, spec.modulus});
      } else if (spec.use == FieldSpec::Use::check) {
        truth.checksums.push_back({spec.span, spec.check.kind, polynomial_text(spec.check)});
      } else if (spec.use == FieldSpec::Use::selector) {
        truth.selectors.push_back({spec.span, message.pages});
      } else if (spec.quantity >= 0) {
        note_field(spec, describe(message, spec, sent.fields[i]));
      }
    }
    board_.truth.messages.push_back(std::move(truth));
  }

  void note_field(const FieldSpec& spec, TrueField field) {
    const auto q = static_cast<std::size_t>(spec.quantity);
    if (session_.origins[q] == Origin::moved) {
      carried_[q].push_back({field, spec.codes});
    } else if (session_.origins[q] == Origin::computed) {
      board_.truth.computed.push_back(std::move(field));
    } else {
      for (const auto& [machine, behind] : session_.machine_of) {
        if (machine == spec.quantity) also_[static_cast<std::size_t>(behind)].push_back(field);
      }
      board_.truth.others.push_back(std::move(field));
    }
  }

  void note_channels() {
    for (const DraftChannel& draft : session_.channels) {
      const auto q = static_cast<std::size_t>(draft.quantity);
      const Quantity& quantity = session_.quantities[q];
      board_.channels.push_back(write_down(written_in_, draft, recipe_, readings_rng_));
      TrueChannel channel;
      channel.name = quantity.name;
      channel.levels = draft.levels;
      channel.low = quantity.low;
      channel.high = quantity.high;
      channel.uncertainty = draft.uncertainty;
      channel.clock_offset_s = recipe_.clock_offset_s;
      channel.also = also_[q];
      for (auto& [field, codes] : carried_[q]) {
        for (std::size_t s = 0; s < draft.words.size(); ++s)
          field.states[codes[s]] = draft.words[s];
        field.line_scale *= draft.gain;
        field.line_offset = field.line_offset * draft.gain + draft.zero;
        channel.fields.push_back(field);
      }
      const std::size_t least = draft.words.empty() ? 5 : 2;
      channel.excited = !channel.fields.empty() && static_cast<std::size_t>(draft.levels) >= least;
      if (!draft.words.empty() && board_.channels.back().readings.size() < 8)
        channel.excited = false;
      board_.truth.channels.push_back(std::move(channel));
    }
    note_confounded();
  }

  void note_cells_sum() {
    const auto sum = std::ranges::find(session_.quantities, "cells_sum", &Quantity::name);
    if (sum == session_.quantities.end()) return;
    for (double t = 0; t <= session_.plan.duration_s; t += 0.1) {
      board_.truth.cells_sum.push_back(sum->path.at(t));
    }
  }

  void disturb_readings(bool other_session) {
    number_readings(board_);
    for (std::size_t c = 0; c < board_.channels.size(); ++c) {
      board_.truth.channels[c].honest = board_.channels[c].readings;
    }
    if (!is_disturbed(family_)) return;
    plant_slips(family_, board_, apart_);
    delay_readings(family_, board_, apart_);
    number_readings(board_);
    if (family_ == Family::foreign) {
      forget_fields(board_.truth);
      if (!other_session) return shift_readings(board_, apart_);
      board_.truth.disturbance = "readings of another session";
    }
    for (std::size_t c = 0; c < board_.channels.size(); ++c) {
      if (board_.truth.channels[c].excited && !is_exposed(c))
        board_.truth.channels[c].excited = false;
    }
  }

  // As much as is asked of an undisturbed channel must have been shown and written down right.
  bool is_exposed(std::size_t c) const {
    const TrueChannel& channel = board_.truth.channels[c];
    const DraftChannel& draft = session_.channels[c];
    if (draft.item < 0) return true;
    if (3 * channel.slips.size() > channel.honest.size()) return false;
    const auto& changes = session_.plan.changes[static_cast<std::size_t>(draft.item)];
    return std::any_of(channel.fields.begin(), channel.fields.end(), [&](const TrueField& field) {
      const std::vector<bool> usable = usable_settings(board_, c, field);
      std::set<double> levels;
      int moves = 0;
      for (std::size_t i = 0; i < usable.size(); ++i) {
        if (usable[i]) levels.insert(changes[i].value);
        if (i > 0 && usable[i] && usable[i - 1]) ++moves;
      }
      return draft.words.empty() ? levels.size() >= 5 : levels.size() >= 2 && moves >= 7;
    });
  }

  void note_confounded() {
    for (const std::vector<std::size_t>& set : session_.confounded) {
      std::vector<std::string> names;
      names.reserve(set.size());
      for (const std::size_t i : set) names.push_back(board_.truth.channels[i].name);
      board_.truth.confounded.push_back(names);
    }
    for (std::size_t i = 0; i < board_.channels.size(); ++i) {  // by accident: few switch moves
      for (std::size_t j = i + 1; j < board_.channels.size(); ++j) {
        if (!move_alike(board_.channels[i], board_.channels[j])) continue;
        if (board_.truth.channels[i].fields.empty() || board_.truth.channels[j].fields.empty())
          continue;
        board_.truth.confounded.push_back(
            {board_.channels[i].channel.name, board_.channels[j].channel.name});
      }
    }
    for (const auto& set : board_.truth.confounded) {
      for (TrueChannel& channel : board_.truth.channels) {
        if (std::find(set.begin(), set.end(), channel.name) != set.end()) channel.excited = false;
      }
    }
  }

  struct Carried {
    TrueField field;
    std::vector<std::uint64_t> codes;
  };

  Family family_;
  const Recipe& recipe_;
  Rng& rng_;
  Rng& apart_;  // of what goes wrong
  Rng readings_rng_;
  Session session_;
  Session written_in_;  // the session of the readings
  std::vector<MessageSpec> messages_;
  std::map<std::size_t, std::vector<Carried>> carried_;
  std::map<std::size_t, std::vector<TrueField>> also_;
  RandomBoard board_;
};

}  // namespace

RandomBoard make_board(Family family, std::uint64_t seed) { return make_board(family, seed, {}); }

RandomBoard make_board(Family family, std::uint64_t seed, const Replan& replan) {
  const std::uint64_t own_seed = seed * 1000003U + static_cast<std::uint64_t>(family);
  Rng rng(own_seed);
  Rng apart(own_seed ^ 0xD157A5BEDU);  // boards stay as they are whatever goes wrong with them
  Recipe recipe = draw_recipe(base_of(family, apart), rng);
  suit(family, recipe, apart);
  return Assembler(family, recipe, seed, rng, apart).run(replan);
}

}  // namespace foundling::recovery
