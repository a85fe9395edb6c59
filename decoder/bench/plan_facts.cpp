#include "decoder/bench/plan_facts.h"

#include <array>
#include <charconv>
#include <cmath>
#include <limits>

#include "schemas/signals/fact_text.h"
#include "schemas/values/nearest_word.h"
#include "schemas/values/unit.h"

namespace foundling::bench {
namespace {

struct TimeUnit {
  std::string_view name;
  double seconds;
};
constexpr std::array<TimeUnit, 5> time_units{
    {{"s", 1}, {"ms", 1e-3}, {"min", 60}, {"h", 3600}, {"minutes", 60}}};

// A unit behind a value of this channel, if one is written: what takes it to the channel's unit.
std::optional<UnitConversion> read_unit(LineReader& reader, const PlanChannel& channel,
                                        std::string_view behind = {}) {
  if (reader.peek().kind != Token::Kind::word) return UnitConversion{};
  std::string_view unit = reader.peek().source;
  const bool marked = unit.size() > behind.size() && unit.ends_with(behind);
  if (marked) unit.remove_suffix(behind.size());
  const auto conversion = marked ? unit_conversion(unit, channel.unit) : std::nullopt;
  if (!conversion) {
    reader.fail(reader.peek(), "the unit " + channel.unit + std::string(behind),
                channel.name + " is in " + channel.unit);
    return {};
  }
  reader.take();
  return conversion;
}

bool read_amount(LineReader& reader, const PlanChannel& channel, std::string_view behind,
                 std::optional<double>& into) {
  const Token first = reader.peek();
  const auto value = reader.number("a number above 0");
  if (!value) return false;
  if (*value <= 0) {
    reader.fail(first, "a number above 0");
    return false;
  }
  const auto conversion = read_unit(reader, channel, behind);
  if (conversion) into = conversion->uncertainty(*value);  // a distance has no zero point to move
  return conversion.has_value();
}

std::optional<double> number_in(std::string_view text) {
  double value = 0;
  const auto [stop, failure] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (failure != std::errc{} || stop != text.data() + text.size() || !std::isfinite(value)) {
    return {};
  }
  return value;
}

bool read_limits(LineReader& reader, PlanChannel& channel) {
  const Token token = reader.peek();
  const auto dots = token.source.find("..");
  const auto low =
      dots == std::string_view::npos ? std::nullopt : number_in(token.source.substr(0, dots));
  const auto high =
      dots == std::string_view::npos ? std::nullopt : number_in(token.source.substr(dots + 2));
  if (token.kind != Token::Kind::word || !low || !high) {
    reader.fail(token, "the minimum and the maximum, as in -60..60");
    return false;
  }
  if (*low >= *high) {
    const std::string turned = shortest(*high) + ".." + shortest(*low);
    reader.fail(token, "limits that go upwards",
                *low > *high ? "did you mean " + turned + '?' : "");
    return false;
  }
  // Beyond it a range is no number any more, and no way through it comes to an end.
  constexpr double farthest = 1e12;
  if (*low < -farthest || *high > farthest) {
    reader.fail(token, "limits within -1e12..1e12");
    return false;
  }
  reader.take();
  const auto conversion = read_unit(reader, channel);
  if (!conversion) return false;
  channel.low = conversion->value(*low);
  channel.high = conversion->value(*high);
  return true;
}

bool read_words(LineReader& reader, PlanChannel& channel) {
  while (reader.peek().kind != Token::Kind::end) {
    auto word = reader.text("a word such as open");
    if (!word) return false;
    channel.words.push_back(std::move(*word));
  }
  if (channel.words.size() >= 2) return true;
  reader.fail(reader.peek(), "at least two words, as in: words open closed");
  return false;
}

bool read_rest(LineReader& reader, PlanChannel& channel) {
  if (channel.is_state()) {
    auto word = reader.text("one of the channel's words");
    if (word) channel.rest_word = std::move(*word);
    return word.has_value();
  }
  const auto value = reader.number("the value at rest");
  if (!value) return false;
  const auto conversion = read_unit(reader, channel);
  if (conversion) channel.rest = conversion->value(*value);
  return conversion.has_value();
}

bool read_count(LineReader& reader, std::string_view what, int low, int high,
                std::optional<int>& into) {
  const auto value = reader.integer(what, low, high);
  if (value) into = static_cast<int>(*value);
  return value.has_value();
}

bool read_moves(LineReader& reader, PlanChannel& channel) {
  if (reader.accept("alone")) return true;
  if (channel.is_state()) {
    reader.fail(reader.peek(), "'alone': no source is laid over channels of words in sets");
    return false;
  }
  if (!reader.accept("in")) {
    reader.fail(reader.peek(), "'alone' or 'in sets'");
    return false;
  }
  if (!reader.expect("sets")) return false;
  channel.moves = Moves::in_sets;
  return true;
}

// cell_03, or cell_03..cell_09.
bool read_names(LineReader& reader, std::vector<std::string>& names) {
  const Token token = reader.peek();
  const std::string_view source = token.source;
  const auto dots = source.find("..");
  const std::string_view first = source.substr(0, dots);
  if (token.kind != Token::Kind::word || !is_plain_word(source) || first.empty()) {
    reader.fail(token, "the name of a channel");
    return false;
  }
  if (dots == std::string_view::npos) {
    names.emplace_back(reader.take().source);
    return true;
  }
  const std::string_view last = source.substr(dots + 2);
  const std::size_t stem = first.find_last_not_of("0123456789") + 1;
  int from = 0, to = 0;
  const auto read = [](std::string_view digits, int& n) {
    const auto [stop, failure] = std::from_chars(digits.data(), digits.data() + digits.size(), n);
    return failure == std::errc{} && stop == digits.data() + digits.size();
  };
  const bool alike = first.size() == last.size() && first.substr(0, stem) == last.substr(0, stem);
  if (!alike || !read(first.substr(stem), from) || !read(last.substr(stem), to) || from > to ||
      to - from >= most_members) {
    reader.fail(token, "the first and the last of a row, as in cell_03..cell_09");
    return false;
  }
  for (int n = from; n <= to; ++n) {
    std::string number = std::to_string(n);
    number.insert(0, first.size() - stem - number.size(), '0');
    names.push_back(std::string(first.substr(0, stem)) + number);
  }
  reader.take();
  return true;
}

}  // namespace

std::span<const std::string> plan_keywords() {
  static const std::array<std::string, 8> words{"board", "note", "seed",    "at-most",
                                                "hold",  "step", "channel", "series"};
  return words;
}

std::span<const std::string> channel_keywords() {
  static const std::array<std::string, 13> words{"limits", "words",    "rest", "levels", "repeat",
                                                 "settle", "set-time", "ramp", "jump",   "grain",
                                                 "lead",   "move",     "note"};
  return words;
}

std::span<const std::string> step_keywords() {
  static const std::array<std::string, 3> words{"set", "hold", "note"};
  return words;
}

bool read_duration(LineReader& reader, std::optional<double>& seconds) {
  const Token first = reader.peek();
  const auto value = reader.number("a time such as 10 s");
  if (!value) return false;
  if (*value < 0) {
    reader.fail(first, "a time of 0 s or more");
    return false;
  }
  for (const TimeUnit& unit : time_units) {
    if (!reader.accept(unit.name)) continue;
    seconds = *value * unit.seconds;
    return true;
  }
  reader.fail(reader.peek(), "s, ms, min or h behind the number");
  return false;
}

bool read_plan_fact(LineReader& reader, std::string_view keyword, Plan& plan) {
  if (keyword == "at-most") return read_duration(reader, plan.at_most_s);
  if (keyword == "hold") return read_duration(reader, plan.hold_s);
  if (keyword == "seed") {
    const auto seed = reader.integer("a whole number", 0, std::numeric_limits<std::int64_t>::max());
    if (seed) plan.seed = static_cast<std::uint64_t>(*seed);
    return seed.has_value();
  }
  auto board = reader.text("the board's name");
  if (board) plan.board = std::move(*board);
  return board.has_value();
}

namespace {

std::optional<int> plain_number(std::string_view digits) {
  int n = 0;
  const auto [stop, failure] = std::from_chars(digits.data(), digits.data() + digits.size(), n);
  if (failure != std::errc{} || stop != digits.data() + digits.size() || n < 0) return {};
  return n;
}

// "01..28", or "03 07..09 12": two members or more, upwards.
bool read_numbers(LineReader& reader, PlanChannel& channel) {
  const Token begin = reader.peek();
  int count = 0;
  std::size_t digits = 0;
  while (true) {
    const Token range = reader.peek();
    const auto dots = range.source.find("..");
    const auto first = plain_number(range.source.substr(0, dots));
    if (!first && count > 0) break;  // the unit
    const bool single = dots == std::string_view::npos;
    const auto last = single ? first : plain_number(range.source.substr(dots + 2));
    const bool rises = first && last && (single ? *last >= *first : *last > *first) &&
                       (channel.numbers.empty() || *first > channel.numbers.back().last);
    if (!rises || *last - *first >= most_members - count) {
      reader.fail(range, "the members' numbers upwards, as in 01..28 or 03 07..09");
      return false;
    }
    if (count == 0) digits = std::min<std::size_t>(std::min(dots, range.source.size()), 6);
    count += *last - *first + 1;
    channel.numbers.push_back({*first, *last});
    reader.take();
  }
  channel.digits =
      static_cast<int>(std::max(digits, std::to_string(channel.numbers.back().last).size()));
  if (count > 1) return true;
  reader.fail(begin, "two members or more, as in 01..28 or 03 07..09");
  return false;
}

}  // namespace

bool read_channel_head(LineReader& reader, bool series, PlanChannel& channel) {
  const Token name = reader.peek();
  if (name.kind != Token::Kind::word || !is_plain_word(name.source) ||
      name.source.find("..") != std::string_view::npos) {
    reader.fail(name, "a name of letters, digits, '_' and '-'");
    return false;
  }
  channel.name = reader.take().source;
  if (series && !read_numbers(reader, channel)) return false;
  const Token unit = reader.peek();
  if (unit.kind != Token::Kind::word) {
    reader.fail(unit, "a unit such as V or A, or state for a channel of words");
    return false;
  }
  const auto known = known_unit(unit.source);
  if (!known) reader.warn(unit, "unit '" + std::string(unit.source) + "' is not known", "");
  channel.unit = known ? std::string(*known) : std::string(unit.source);
  reader.take();
  return true;
}

bool read_channel_fact(LineReader& reader, std::string_view keyword, PlanChannel& channel) {
  const bool numeric = keyword == "limits" || keyword == "levels" || keyword == "ramp" ||
                       keyword == "jump" || keyword == "grain";
  if (channel.is_state() && numeric) {
    reader.fail(reader.peek(),
                "nothing: a state channel has words, and no " + std::string(keyword));
    return false;
  }
  if (!channel.is_state() && keyword == "words") {
    reader.fail(reader.peek(), "nothing: only a channel in 'state' has words");
    return false;
  }
  if (keyword == "limits") return read_limits(reader, channel);
  if (keyword == "words") return read_words(reader, channel);
  if (keyword == "rest") return read_rest(reader, channel);
  if (keyword == "levels") return read_count(reader, "how many levels", 2, 1000, channel.levels);
  if (keyword == "repeat") return read_count(reader, "how often", 1, 1000, channel.repeat);
  if (keyword == "settle") return read_duration(reader, channel.settle_s);
  if (keyword == "set-time") return read_duration(reader, channel.set_time_s);
  if (keyword == "ramp") return read_amount(reader, channel, "/s", channel.ramp);
  if (keyword == "jump") return read_amount(reader, channel, "", channel.jump);
  if (keyword == "grain") return read_amount(reader, channel, "", channel.grain);
  if (keyword == "move") return read_moves(reader, channel);
  auto lead = reader.text("the lead's name");
  if (lead) channel.lead = std::move(*lead);
  return lead.has_value();
}

bool read_setting(LineReader& reader, Setting& setting) {
  // A number where a name could stand is the value with its '=' forgotten.
  do {
    if (!read_names(reader, setting.channels)) return false;
  } while (reader.peek().kind == Token::Kind::word && !number_in(reader.peek().source));
  if (!reader.expect("=")) return false;
  const Token value = reader.peek();
  setting.value_place = reader.place_of(value.source);
  if (const auto number =
          value.kind == Token::Kind::word ? number_in(value.source) : std::nullopt) {
    setting.value = *number;
    reader.take();
    // Words of a state channel may be figures: the check knows which it is.
    setting.word = value.source;
    if (reader.peek().kind == Token::Kind::word) {
      const std::string_view unit = reader.peek().source;
      const auto known = known_unit(unit);
      setting.unit = known ? std::string(*known) : std::string(unit);
      reader.take();
    }
    return true;
  }
  auto word = reader.text("a value with its unit, or a word");
  if (word) setting.word = std::move(*word);
  return word.has_value();
}

}  // namespace foundling::bench
