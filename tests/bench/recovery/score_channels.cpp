// The figures of the channels: what was found, how exactly, and what was said of the rest.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>

#include "tests/bench/recovery/chances.h"
#include "tests/bench/recovery/place.h"
#include "tests/bench/recovery/ranks.h"
#include "tests/bench/recovery/score.h"

namespace foundling::recovery {
namespace {

std::string describe(const Proposal& p) {
  char numbers[320];
  std::snprintf(
      numbers, sizeof numbers,
      " %s%dw (%d untested) *%.7g %+.6g [fit %.7g in %.7g..%.7g, %+.6g in %.6g..%.6g] delay "
      "%.3f tau %.2f rms %.3g levels %d chance %.2g %s",
      p.is_float    ? "float "
      : p.is_signed ? "signed "
                    : "",
      p.place.span.width(), p.untested_high_bits, p.scale, p.offset, p.scale_fitted,
      p.scale_interval.low, p.scale_interval.high, p.offset_fitted, p.offset_interval.low,
      p.offset_interval.high, p.delay_s, p.time_constant_s, p.residual_rms, p.levels, p.chance,
      p.verdict == Verdict::strong ? "strong"
      : p.verdict == Verdict::weak ? "weak"
                                   : "ambiguous");
  return recovery::describe(p.place) + numbers;
}

// The value that the proposal reads at a raw code; NaN beyond a table's ends.
double value_at(const Proposal& p, double raw) {
  if (p.table.empty()) return raw * p.scale + p.offset;
  for (std::size_t i = 1; i < p.table.size(); ++i) {
    const CurvePoint& a = p.table[i - 1];
    const CurvePoint& b = p.table[i];
    if (a.raw <= raw && raw <= b.raw) {
      return a.value + (raw - a.raw) / (b.raw - a.raw) * (b.value - a.value);
    }
  }
  return std::nan("");
}

bool holds(const Interval& interval, double value) {
  return interval.low <= value && value <= interval.high;
}

class ChannelJudge {
 public:
  ChannelJudge(const RandomBoard& board, const Correlation& answer, BoardScore& score)
      : board_(board), answer_(answer), score_(score), figures_(score.figures) {}

  void run() {
    for (const TrueChannel& channel : board_.truth.channels) {
      ++figures_.channels;
      judge(channel);
      judge_word(channel);
    }
    for (const auto& set : board_.truth.confounded) judge_confounded(set);
    for (const Proposal& proposal : answer_.proposals) judge_claim(proposal);
    judge_still_members();
  }

 private:
  const Proposal* first_of(const std::string& channel) const {
    for (const Proposal& p : answer_.proposals) {
      if (p.channel == channel && !p.derived && p.rank == 1) return &p;
    }
    return nullptr;
  }

  const MessageSeries& message_of(const TrueField& field) const {
    return *find_message(board_.messages, field.bus, field.id);
  }

  const TrueField* match(const std::vector<TrueField>& fields, const FieldPlace& place) const {
    for (const TrueField& field : fields) {
      if (same_place(message_of(field), field, place)) return &field;
    }
    return nullptr;
  }

  void miss(const char* what, const TrueChannel& channel, const Proposal* proposal) {
    std::string line = std::string(what) + ": " + channel.name;
    char numbers[80];
    std::snprintf(numbers, sizeof numbers, " (%d levels, %.6g..%.6g)", channel.levels, channel.low,
                  channel.high);
    line += numbers;
    for (const TrueField& field : channel.fields) {
      line += " | true " + recovery::describe(field);
    }
    if (channel.fields.empty()) line += " | true: none";
    line += proposal != nullptr ? " | said " + describe(*proposal) : " | said nothing";
    score_.misses.push_back(std::move(line));
  }

  void note(Ratio& ratio, bool good, const char* what, const TrueChannel& channel,
            const Proposal* proposal) {
    ratio.add(good);
    if (!good) miss(what, channel, proposal);
  }

  void judge(const TrueChannel& channel) {
    const Proposal* first = first_of(channel.name);
    if (channel.fields.empty()) {
      const bool silent =
          std::none_of(answer_.proposals.begin(), answer_.proposals.end(),
                       [&](const Proposal& p) { return p.channel == channel.name && !p.derived; });
      note(figures_.silence, silent, "not silent", channel, first);
      const double chance = least_chance(answer_, channel.name);
      figures_.absent_strong.add(
          std::any_of(answer_.proposals.begin(), answer_.proposals.end(), [&](const Proposal& p) {
            return p.channel == channel.name && !p.derived && p.verdict == Verdict::strong;
          }));
      figures_.chance_05.add(chance <= 0.05);
      figures_.chance_01.add(chance <= 0.01);
      return;
    }
    if (!channel.excited) {
      if (channel.levels < 5 && channel.fields.front().states.empty()) {
        figures_.few_named.add(advice_names(channel.name));
      }
      return;
    }
    right_ = true;
    judge_found(channel, first);
    figures_.right.add(right_);
  }

  // Counts for the figure of those that are right in everything.
  void need(Ratio& ratio, bool good, const char* what, const TrueChannel& channel,
            const Proposal* proposal) {
    right_ = right_ && good;
    note(ratio, good, what, channel, proposal);
  }

  // No channel goes without a word.
  void judge_word(const TrueChannel& channel) {
    const Proposal* first = first_of(channel.name);
    if (first != nullptr && first->verdict == Verdict::strong) return;
    const bool said =
        std::any_of(answer_.unanswered.begin(), answer_.unanswered.end(), [&](const Unanswered& u) {
          return u.channel == channel.name && !u.reason.empty() && !u.advice.empty();
        });
    note(figures_.unanswered, said, "without a word", channel, first);
  }

  void judge_found(const TrueChannel& channel, const Proposal* first) {
    const TrueField* field = first != nullptr ? match(channel.fields, first->place) : nullptr;
    Span span;
    if (field != nullptr) span = first->place.span;
    for (std::size_t i = 0; first != nullptr && field == nullptr && i < first->same_as.size();
         ++i) {
      field = match(channel.fields, first->same_as[i]);
      span = first->same_as[i].span;
    }
    need(figures_.found, field != nullptr, "not found", channel, first);
    if (field == nullptr) return;
    figures_.verdict.add(first->verdict == Verdict::strong);
    const MessageSeries& message = message_of(*field);
    const bool at_rank_1 = span == first->place.span;
    bool right = same_moved_bits(message, *field, span) && first->is_float == field->is_float;
    if (at_rank_1) {
      right = right && untested_right(message, *field, span, first->untested_high_bits);
    }
    need(figures_.span, right, "span", channel, first);
    if (!field->states.empty()) {
      if (at_rank_1)
        need(figures_.words, words_right(message, *field, *first), "words", channel, first);
      return;
    }
    if (!field->is_curved()) return judge_line(channel, *field, *first);
    need(figures_.curve, keeps_to(channel, *field, *first), "curve", channel, first);
  }

  // The least and the greatest value that the channel was set to.
  std::pair<double, double> driven(const std::string& name) const {
    const auto own = std::find_if(board_.truth.channels.begin(), board_.truth.channels.end(),
                                  [&](const TrueChannel& c) { return c.name == name; });
    const auto [low, high] =
        std::minmax_element(own->honest.begin(), own->honest.end(),
                            [](const Reading& a, const Reading& b) { return a.value < b.value; });
    return {low->value, high->value};
  }

  // Whether the proposal reads the field as its curve has it, at points over what it was driven to.
  bool keeps_to(const TrueChannel& channel, const TrueField& field, const Proposal& p) const {
    constexpr int points = 20;
    const double shift = raw_shift(field, p);
    const auto [low, high] = driven(channel.name);
    const double range = high - low;
    for (int k = 1; k < points; ++k) {
      const double truth = low + range * k / points;
      const double raw = code_of(field.curve, truth);
      const double code = std::abs(value_of(field.curve, raw + 1) - truth);
      const double said = value_at(p, raw - shift);
      if (!(std::abs(said - truth) <= std::max(0.01 * range, 2 * code))) return false;
    }
    return true;
  }

  void judge_line(const TrueChannel& channel, const TrueField& field, const Proposal& p) {
    if (field.sign_can_be_told()) {
      need(figures_.sign, p.is_signed == field.is_signed, "sign", channel, &p);
    }
    const double scale_error = std::abs(p.scale / field.scale - 1);
    note(figures_.scale_exact, scale_error < 1e-9, "scale not exact", channel, &p);
    need(figures_.scale_near, scale_error <= 0.005, "scale off", channel, &p);
    // Raw of the stated span against the true raw: constant where the spans agree on moved bits.
    const double shift = raw_shift(field, p);
    const double nominal = field.offset + field.scale * shift;
    const double line = field.line_offset + field.line_scale * shift;
    figures_.scale_ranks.add(rank_of(field.line_scale, p.scale_interval, p.levels));
    figures_.offset_ranks.add(rank_of(line, p.offset_interval, p.levels));
    const double error = std::min(std::abs(p.offset - nominal), std::abs(p.offset - line));
    need(figures_.offset, error <= field.resolution() * (1 + 1e-9), "offset", channel, &p);
    note(figures_.scale_interval, holds(p.scale_interval, field.line_scale), "scale interval",
         channel, &p);
    note(figures_.offset_interval, holds(p.offset_interval, line), "offset interval", channel, &p);
    const double delay = field.delay_s + field.time_constant_s + channel.clock_offset_s;
    figures_.delay.add(std::abs(p.delay_s + p.time_constant_s - delay) < 0.15);
  }

  // Median of true raw less stated raw over ordinary frames.
  double raw_shift(const TrueField& field, const Proposal& p) const {
    const MessageSeries& message = message_of(field);
    if (p.place.span.last_byte() >= message.length) return 0;
    std::vector<double> shifts;
    for (const std::size_t i : rows_of(message, page_of(field))) {
      if (!field.is_ordinary(message.t_ns[i])) continue;
      const double truth = raw_value(extract(field.span, message.row(i)), field.span.width(),
                                     field.is_signed, field.is_float);
      const double stated = raw_value(extract(p.place.span, message.row(i)), p.place.span.width(),
                                      p.is_signed, p.is_float);
      shifts.push_back(truth - stated);
    }
    if (shifts.empty()) return 0;
    const auto middle = shifts.begin() + static_cast<std::ptrdiff_t>(shifts.size() / 2);
    std::nth_element(shifts.begin(), middle, shifts.end());
    return *middle;
  }

  bool words_right(const MessageSeries& message, const TrueField& field, const Proposal& p) const {
    if (!same_moved_bits(message, field, p.place.span)) return false;
    for (const std::size_t i : rows_of(message, page_of(field))) {
      const auto word = field.states.find(extract(field.span, message.row(i)));
      const auto said = p.states.find(extract(p.place.span, message.row(i)));
      if (word == field.states.end()) continue;
      if (said == p.states.end() || said->second != word->second) return false;
    }
    return true;
  }

  bool advice_names(const std::string& name) const {
    return std::any_of(
        answer_.advice.begin(), answer_.advice.end(),
        [&](const std::string& advice) { return advice.find(name) != std::string::npos; });
  }

  void judge_confounded(const std::vector<std::string>& set) {
    bool reported = std::any_of(set.begin(), set.end(),
                                [&](const std::string& name) { return advice_names(name); });
    std::string said;
    for (const std::string& name : set) {
      const Proposal* p = first_of(name);
      bool member = p != nullptr && p->verdict == Verdict::ambiguous;
      for (const std::string& other : set) {
        if (member && other != name) {
          member = std::find(p->ambiguous_with.begin(), p->ambiguous_with.end(), other) !=
                   p->ambiguous_with.end();
        }
      }
      reported = reported && member;
      said += " | " + name + ": " + (p != nullptr ? describe(*p) : "nothing");
    }
    figures_.confounded.add(reported);
    if (!reported) score_.misses.push_back("confounded set not reported" + said);
  }

  // Members of a series that nobody moved, where two at least were: proposed in their place?
  void judge_still_members() {
    std::map<std::string, int> moved;
    for (const TrueChannel& channel : board_.truth.channels) {
      if (channel.excited) ++moved[stem_of(channel.name)];
    }
    for (const TrueField& field : board_.truth.others) {
      const std::string stem = stem_of(field.quantity);
      if (stem == field.quantity || moved[stem] < 2) continue;
      figures_.inferred.add(
          std::any_of(answer_.proposals.begin(), answer_.proposals.end(), [&](const Proposal& p) {
            return p.inferred && p.channel == field.quantity &&
                   same_place(message_of(field), field, p.place);
          }));
    }
  }

  static std::string stem_of(const std::string& name) {
    return name.substr(0, name.find_last_not_of("0123456789") + 1);
  }

  // Every claim, whatever its rank.
  void judge_claim(const Proposal& p) {
    if (p.derived) {
      const bool hit = match(board_.truth.computed, p.place) != nullptr;
      ++(hit ? figures_.derived_hits : figures_.derived_misses);
      if (!hit && p.verdict == Verdict::strong) false_strong(p);
      return;
    }
    if (p.inferred) {
      std::vector<TrueField> named;
      for (const TrueField& field : board_.truth.others) {
        if (field.quantity == p.channel) named.push_back(field);
      }
      const bool hit = match(named, p.place) != nullptr;
      figures_.inferred_claims.add(hit);
      if (!hit && p.verdict == Verdict::strong) false_strong(p);
      if (!hit) {
        std::string line = "inferred: " + p.channel;
        for (const TrueField& field : named) line += " | true " + recovery::describe(field);
        score_.misses.push_back(line + " | said " + describe(p) + " " + p.note);
      }
      return;
    }
    if (p.verdict != Verdict::strong) return;
    for (const TrueChannel& channel : board_.truth.channels) {
      if (channel.name != p.channel) continue;
      if (const TrueField* field = match(channel.fields, p.place)) {
        if (const char* what = wrong_at_its_place(*field, p)) false_strong(p, what);
        return;
      }
      if (match(channel.also, p.place) != nullptr) return;
      if (is_part_of_state(channel.fields, p) || is_part_of_state(channel.also, p)) return;
    }
    false_strong(p);
  }

  // Some bits of a state's field may tell the whole state: not the field, but no false claim.
  static bool is_part_of_state(const std::vector<TrueField>& fields, const Proposal& p) {
    return !p.states.empty() &&
           std::any_of(fields.begin(), fields.end(), [&](const TrueField& field) {
             return field.bus == p.place.bus && field.id == p.place.id &&
                    field.span.overlaps(p.place.span);
           });
  }

  // What a strong proposal must not have wrong, even at the right place; null if it is right.
  const char* wrong_at_its_place(const TrueField& field, const Proposal& p) const {
    if (p.is_float != field.is_float || !same_moved_bits(message_of(field), field, p.place.span))
      return "width";
    if (!field.states.empty() || field.is_curved()) return nullptr;
    if (field.sign_can_be_told() && p.is_signed != field.is_signed) return "sign";
    const auto off = [&](double scale) { return std::abs(p.scale / scale - 1) > 0.005; };
    return off(field.scale) && off(field.line_scale) ? "scale" : nullptr;
  }

  void false_strong(const Proposal& p, const char* what = nullptr) {
    ++figures_.false_strong;
    if (what != nullptr) ++figures_.wrong_strong;
    const std::string kind =
        what != nullptr ? std::string("wrong strong, ") + what : "false strong";
    score_.misses.push_back(kind + ": " + p.channel + (p.derived ? " (derived)" : "") +
                            (p.inferred ? " (inferred)" : "") + " rank " + std::to_string(p.rank) +
                            " | said " + describe(p));
  }

  const RandomBoard& board_;
  const Correlation& answer_;
  BoardScore& score_;
  Figures& figures_;
  bool right_ = true;  // all that was needed of this channel
};

}  // namespace

void score_channels(const RandomBoard& board, const Correlation& answer, BoardScore& score) {
  ChannelJudge(board, answer, score).run();
}

}  // namespace foundling::recovery
