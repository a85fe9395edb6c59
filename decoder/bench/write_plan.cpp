#include <algorithm>
#include <charconv>
#include <cmath>
#include <utility>

#include "decoder/bench/plan_text.h"
#include "schemas/signals/fact_text.h"

namespace foundling::bench {
namespace {

class Writer {
 public:
  explicit Writer(const Plan& plan) : plan_(plan) {}

  std::string run() {
    line(plan_.remarks, "", 0, "foundling plan 1");
    if (!plan_.board.empty()) {
      line(plan_.remarks, "board", 0, "board " + quoted_if_needed(plan_.board));
    }
    notes(plan_.notes, plan_.remarks, 0);
    if (plan_.seed) line(plan_.remarks, "seed", 0, "seed " + std::to_string(*plan_.seed));
    duration(plan_.remarks, "at-most", 0, plan_.at_most_s);
    duration(plan_.remarks, "hold", 0, plan_.hold_s);
    for (const PlanChannel& channel : plan_.channels) write(channel);
    for (const Step& step : plan_.steps) write(step);
    if (const auto end = plan_.remarks.find("end"); end != plan_.remarks.end()) {
      above(end->second, 0);
    }
    return std::move(out_);
  }

 private:
  void above(const Remark& remark, int level) {
    for (const std::string& text : remark.above) {
      if (!text.empty()) out_ += std::string(static_cast<std::size_t>(level) * 2, ' ') + text;
      out_ += '\n';
    }
  }

  void line(const Remark& remark, int level, const std::string& text) {
    above(remark, level);
    out_ += std::string(static_cast<std::size_t>(level) * 2, ' ') + text;
    if (!remark.behind.empty()) out_ += "  " + remark.behind;
    out_ += '\n';
  }

  void line(const Remarks& remarks, const std::string& key, int level, const std::string& text) {
    static const Remark none;
    const auto found = remarks.find(key);
    line(found == remarks.end() ? none : found->second, level, text);
  }

  void notes(const std::vector<std::string>& notes, const Remarks& remarks, int level) {
    for (std::size_t i = 0; i < notes.size(); ++i) {
      line(remarks, "note " + std::to_string(i), level, "note " + notes[i]);
    }
  }

  void duration(const Remarks& remarks, const std::string& key, int level,
                const std::optional<double>& seconds) {
    if (seconds) line(remarks, key, level, key + ' ' + duration_text(*seconds));
  }

  void amount(const PlanChannel& c, const std::string& key, const std::optional<double>& value,
              const std::string& unit) {
    if (value) line(c.remarks, key, 1, key + ' ' + shortest(*value) + ' ' + unit);
  }

  void count(const PlanChannel& c, const std::string& key, const std::optional<int>& value) {
    if (value) line(c.remarks, key, 1, key + ' ' + std::to_string(*value));
  }

  void write(const PlanChannel& c) {
    std::string head = c.is_series() ? "series " : "channel ";
    head += quoted_if_needed(c.name);
    if (c.is_series()) {
      for (const NumberRange& range : c.numbers) {
        head += ' ' + number_text(range.first, c.digits);
        if (range.last > range.first) head += ".." + number_text(range.last, c.digits);
      }
    }
    line(c.remarks, "", 0, head + ' ' + c.unit);
    if (c.is_state()) {
      std::string words = "words";
      for (const std::string& word : c.words) words += ' ' + quoted_if_needed(word);
      line(c.remarks, "words", 1, words);
      if (!c.rest_word.empty()) {
        line(c.remarks, "rest", 1, "rest " + quoted_if_needed(c.rest_word));
      }
    } else {
      line(c.remarks, "limits", 1,
           "limits " + shortest(c.low) + ".." + shortest(c.high) + ' ' + c.unit);
      amount(c, "rest", c.rest, c.unit);
      count(c, "levels", c.levels);
    }
    count(c, "repeat", c.repeat);
    duration(c.remarks, "settle", 1, c.settle_s);
    duration(c.remarks, "set-time", 1, c.set_time_s);
    amount(c, "ramp", c.ramp, c.unit + "/s");
    amount(c, "jump", c.jump, c.unit);
    amount(c, "grain", c.grain, c.unit);
    if (!c.lead.empty()) line(c.remarks, "lead", 1, "lead " + quoted_if_needed(c.lead));
    if (c.moves == Moves::in_sets) line(c.remarks, "move", 1, "move in sets");
    notes(c.notes, c.remarks, 1);
  }

  void write(const Step& step) {
    line(step.remarks, "", 0, "step " + std::to_string(step.number));
    for (const Setting& setting : step.settings) {
      line(setting.remark, 1, "set " + setting_text(plan_, setting));
    }
    duration(step.remarks, "hold", 1, step.hold_s);
    notes(step.notes, step.remarks, 1);
  }

  const Plan& plan_;
  std::string out_;
};

// A name that ends in digits: its stem, and the digits.
std::pair<std::string_view, std::string_view> split_number(std::string_view name) {
  const std::size_t end = name.find_last_not_of("0123456789") + 1;
  return {name.substr(0, end), name.substr(end)};
}

bool follows_in_row(std::string_view name, std::string_view next) {
  const auto [stem, digits] = split_number(name);
  const auto [next_stem, next_digits] = split_number(next);
  if (stem != next_stem || digits.size() != next_digits.size() || digits.empty()) return false;
  if (digits.size() > 6) return false;
  int a = 0, b = 0;
  std::from_chars(digits.data(), digits.data() + digits.size(), a);
  std::from_chars(next_digits.data(), next_digits.data() + next_digits.size(), b);
  return b == a + 1;
}

}  // namespace

std::string duration_text(double seconds) {
  const double minutes = std::round(seconds / 60);
  if (minutes >= 2 && minutes * 60 == seconds) return shortest(minutes) + " min";
  return shortest(seconds) + " s";
}

std::string names_text(const std::vector<std::string>& names) {
  std::string text;
  for (std::size_t i = 0; i < names.size();) {
    std::size_t end = i + 1;
    while (end < names.size() && follows_in_row(names[end - 1], names[end])) ++end;
    if (!text.empty()) text += ' ';
    text += quoted_if_needed(names[i]);
    if (end - i >= 3) {
      text += ".." + names[end - 1];
      i = end;
    } else {
      ++i;
    }
  }
  return text;
}

std::string setting_text(const Plan& plan, const Setting& setting) {
  std::string text = names_text(setting.channels) + " = ";
  if (!setting.word.empty()) return text + quoted_if_needed(setting.word);
  std::string unit = setting.unit;
  if (unit.empty() && !setting.channels.empty()) {
    const PlanChannel* channel = find_channel(plan, setting.channels.front());
    if (channel != nullptr) unit = channel->unit;
  }
  text += shortest(setting.value);
  return unit.empty() ? text : text + ' ' + unit;
}

std::string write_plan(const Plan& plan) { return Writer(plan).run(); }

}  // namespace foundling::bench
