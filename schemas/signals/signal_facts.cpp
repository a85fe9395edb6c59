#include "schemas/signals/signal_facts.h"

#include <algorithm>
#include <array>
#include <vector>

#include "schemas/signals/encoding_words.h"
#include "schemas/signals/hints.h"
#include "schemas/values/unit.h"
#include "schemas/values/utf8.h"

namespace foundling {
namespace {

// Limits within which no formula can overflow (index_formula.h).
constexpr std::int64_t most_index = 1'000'000;
constexpr std::int64_t most_number = 0xFFFFFFFF;

bool is_number_start(std::string_view text) {
  return text.size() > 1 && (text[0] == '-' || text[0] == '+' || text[0] == '.');
}

bool is_digit(char c) { return c >= '0' && c <= '9'; }

// "n", "(n - 1)" or "(n + 1)".
bool read_index(LineReader& line, IndexFormula& formula, std::string_view what) {
  if (line.accept("n")) return true;
  const bool bracket = line.accept("(");
  const std::string_view source = line.peek().source;
  if (source.starts_with("n-") || source.starts_with("n+")) {
    line.fail(line.peek(), "n or (n - 1)", "put spaces around - and +");
    return false;
  }
  if (!bracket) {
    line.fail(line.peek(), what, line.peek().source == "=" ? "write it without =" : "");
    return false;
  }
  if (!line.expect("n")) return false;
  const bool minus = line.accept("-");
  if (!minus && !line.accept("+")) {
    line.fail(line.peek(), "+ or -");
    return false;
  }
  const auto from = line.integer("a whole number", 0, most_index);
  if (!from) return false;
  formula.from = minus ? *from : -*from;
  return line.expect(")");
}

// n, (n - 1), (n - 1) div 3, (n - 1) mod 3
bool read_index_term(LineReader& line, IndexFormula& formula, std::string_view what) {
  if (!read_index(line, formula, what)) return false;
  const std::string_view next = line.peek().source;
  if (next == "/" || next == "%") {
    line.fail(line.peek(), "div, mod or *", next == "/" ? "write: div" : "write: mod");
    return false;
  }
  const bool div = line.accept("div");
  if (!div && !line.accept("mod")) return true;
  formula.operation = div ? IndexFormula::Operation::div : IndexFormula::Operation::mod;
  const auto by = line.integer("a whole number", 1, most_index);
  if (!by) return false;
  formula.by = *by;
  return true;
}

// A page: 3, or a formula of n, such as 1 + (n - 1) div 3 * 2.
std::optional<IndexFormula> read_page(LineReader& line) {
  IndexFormula formula;
  const std::string_view start = line.peek().source;
  if (!start.empty() && is_digit(start.front())) {
    const Token token = line.peek();
    const auto base = line.code("a page or a formula of n");
    if (!base) return {};
    if (*base > static_cast<std::uint64_t>(most_number)) {
      line.fail(token, "a page up to 4294967295");
      return {};
    }
    formula.base = static_cast<std::int64_t>(*base);
    formula.times = 0;
    if (!line.accept("+")) return formula;
    formula.times = 1;
  }
  if (!read_index_term(line, formula, "a page, such as 3 or (n - 1) div 3")) return {};
  if (!line.accept("*")) return formula;
  const auto times = line.integer("a whole number", -most_number, most_number);
  if (!times) return {};
  if (*times == 0) return IndexFormula{.base = formula.base, .times = 0};
  formula.times = *times;
  return formula;
}

// Behind the "+" of a series' bits: (n - 1) mod 3 * 2 bytes
std::optional<SpanStep> read_step(LineReader& line) {
  static const std::array<std::string, 4> units{"bytes", "byte", "bits", "bit"};
  SpanStep step;
  if (!read_index_term(line, step.bits, "n or (n - 1)")) return {};
  if (!line.expect("*", "say by how much a member moves: * 2 bytes")) return {};
  const auto times = line.integer("a whole number of bytes or bits", -512, 512);
  if (!times) return {};
  const auto unit = line.word_of("bytes or bits", units);
  if (!unit) return {};
  step.bits.times = *times * (unit->starts_with("byte") ? 8 : 1);
  step.big = line.accept("big");
  return step;
}

// The word that says how bits stand for a number, then "swapped"; false when it was reported.
bool read_encoding(LineReader& line, fact::Bits& bits) {
  static const std::vector<std::string> words = [] {
    std::vector<std::string> all(encoding_words().begin(), encoding_words().end());
    all.emplace_back("swapped");
    return all;
  }();
  if (line.peek().kind == Token::Kind::end) return true;
  const auto word = line.word_of(
      "unsigned, signed, float, sign-magnitude, ones-complement, bcd, swapped or the end of the "
      "line",
      words, habit_hint(line.peek().source));
  if (!word) return false;
  const auto at = static_cast<std::size_t>(std::ranges::find(words, *word) - words.begin());
  bits.words_swapped = at == encoding_words().size() || line.accept("swapped");
  if (at < encoding_words().size()) bits.encoding = static_cast<Encoding>(at);
  return true;
}

// The unit, if there is one: the last word of the line.
std::optional<std::string> read_unit(LineReader& line) {
  const Token token = line.peek();
  if (token.kind == Token::Kind::end) return std::string();
  const bool bare = token.kind == Token::Kind::word && !is_digit(token.source.front()) &&
                    !is_number_start(token.source) && token.source != "+" && token.source != "-" &&
                    token.source.front() != '/' && lookalike_hint(token.source).empty();
  std::string unit = one_line(token.text());
  if ((!bare && token.kind != Token::Kind::quoted) || unit.empty()) {
    std::string hint;
    if (token.source == ",") hint = "the decimal sign is a point";
    if (token.source.starts_with('/')) hint = "a scale multiplies: instead of / 10 write * 0.1";
    line.fail(token, "+, - or a unit", hint);
    return {};
  }
  if (!line.fits(token, unit, longest_word, "a unit")) return {};
  line.take();
  if (line.peek().kind == Token::Kind::word) {
    const std::string both = unit + ' ' + line.peek().text();
    const std::string_view next = line.peek().source;
    std::string hint = habit_hint(unit);  // offset, factor
    if (hint.empty() && (next == "-" || next == "+" || is_number_start(next))) {
      hint = "the unit stands last: value = raw * 0.1 - 40 °C";
    }
    if (hint.empty() && known_unit(unit)) hint = "a remark stands behind #";
    if (hint.empty()) hint = unit_hint(both);
    if (hint.empty()) hint = "put it in quotes: \"" + both + '"';
    line.fail(line.peek(), "the end of the line", hint);
    return {};
  }
  if (!known_unit(unit)) {
    line.warn(token, "unit '" + unit + "' is kept as text, nothing converts it", unit_hint(unit));
  }
  return unit;
}

std::optional<fact::Fact> read_table_head(LineReader& line) {
  auto unit = read_unit(line);
  if (!unit) return {};
  return fact::TableHead{*std::move(unit)};
}

// The scale behind "raw *"; zero would make every raw value the same.
std::optional<double> read_scale(LineReader& line) {
  const Token token = line.peek();
  const auto scale = line.number("a scale");
  if (scale && line.peek().source == ",") {
    line.fail(line.peek(), "a unit or the end of the line", "the decimal sign is a point");
    return {};
  }
  if (scale && *scale == 0) {
    line.fail(token, "a scale other than zero",
              "with a scale of 0 every raw value would read the same");
    return {};
  }
  return scale;
}

// "+ 5", "- 40" or "-40" behind the scale; 0 where there is none.
std::optional<double> read_offset(LineReader& line) {
  if (is_number_start(line.peek().source)) return line.number("an offset");
  const bool minus = line.accept("-");
  if (!minus && !line.accept("+")) return 0.0;
  const auto offset = line.number("an offset");
  if (!offset) return {};
  return minus ? -*offset : *offset;
}

std::optional<double> read_seconds(LineReader& line, double low, double high,
                                   std::string_view what) {
  static const std::array<std::string, 2> units{"s", "ms"};
  const Token token = line.peek();
  const auto amount = line.number(what);
  if (!amount) return {};
  const auto unit = line.word_of("s or ms", units);
  if (!unit) return {};
  const double seconds = *unit == "s" ? *amount : *amount / 1000;
  if (seconds < low || seconds > high) {
    line.fail(token, std::string(what) +
                         (low < 0 ? " between -3600 s and 3600 s" : " between 0 s and 3600 s"));
    return {};
  }
  return seconds;
}

}  // namespace

std::optional<fact::Fact> read_on(LineReader& line) {
  auto selector = line.text("the selector's name");
  if (!selector) return {};
  if (line.peek().kind == Token::Kind::end) {
    line.fail(line.peek(), "a page, such as 3 or (n - 1) div 3",
              "the selector's name comes first: on page 3");
    return {};
  }
  const auto page = read_page(line);
  if (!page) return {};
  return PageOf{*std::move(selector), *page};
}

std::optional<fact::Fact> read_bits(LineReader& line) {
  fact::Bits bits;
  const auto span = line.bits("bits, such as 2.7..3.0");
  if (!span) return {};
  bits.span = *span;
  if (line.accept("+")) {
    const auto step = read_step(line);
    if (!step) return {};
    if (step->bits.times != 0) bits.step = step;
  }
  if (!read_encoding(line, bits)) return {};
  return bits;
}

std::optional<fact::Fact> read_value(LineReader& line) {
  if (!line.expect("=", "write: value = raw * 0.1 V")) return {};
  if (line.accept("table")) return read_table_head(line);
  if (!line.accept("raw")) {
    line.fail(line.peek(), "raw or table", "write: value = raw * 0.1 V");
    return {};
  }
  fact::Linear linear;
  if (line.accept("*")) {
    const auto scale = read_scale(line);
    if (!scale) return {};
    linear.scale = *scale;
  }
  const auto offset = read_offset(line);
  if (!offset) return {};
  linear.offset = *offset == 0 ? 0 : *offset;  // no negative zero
  auto unit = read_unit(line);
  if (!unit) return {};
  linear.unit = *std::move(unit);
  return linear;
}

std::optional<fact::Fact> read_point(LineReader& line) {
  const auto raw = line.number("a raw value");
  if (!raw || !line.expect("=", "write: point 0 = -40")) return {};
  const auto value = line.number("the value at that raw value");
  if (!value) return {};
  return TablePoint{*raw, *value};
}

std::optional<fact::Fact> read_state(LineReader& line) {
  const auto code = line.code("a raw code, such as 1 or 0x0A");
  if (!code || !line.expect("=", "write: state 1 = closed")) return {};
  auto word = line.text("the word for that code");
  if (!word) return {};
  return StateWord{*code, *std::move(word)};
}

std::optional<fact::Fact> read_reserved(LineReader& line) {
  const auto codes = line.code_range("a raw code or a range, such as 0xFE..0xFF");
  if (!codes) return {};
  if (line.peek().source == "=") {
    line.fail(line.peek(), "what the code means, such as not-available", "write it without =");
    return {};
  }
  auto word = line.text("what the code means, such as not-available");
  if (!word) return {};
  return ReservedCode{*codes, *std::move(word)};
}

std::optional<fact::Fact> read_status(LineReader& line) {
  static const std::array<std::string, 3> words{"proposed", "confirmed", "refuted"};
  const auto word = line.word_of("proposed, confirmed or refuted", words);
  if (!word) return {};
  if (*word == "confirmed") return fact::StatusLine{Status::confirmed};
  return fact::StatusLine{*word == "refuted" ? Status::refuted : Status::proposed};
}

std::optional<fact::Fact> read_delay(LineReader& line) {
  const auto seconds = read_seconds(line, -3600, 3600, "a delay");
  if (!seconds) return {};
  return fact::Delay{*seconds == 0 ? 0 : *seconds};
}

std::optional<fact::Fact> read_time_constant(LineReader& line) {
  const auto seconds = read_seconds(line, 0, 3600, "a time constant");
  if (!seconds) return {};
  return fact::TimeConstant{*seconds == 0 ? 0 : *seconds};
}

std::optional<fact::Fact> read_seen(LineReader& line) {
  const std::string example = "write: seen one.capture session 1: what was found";
  if (line.peek().source.ends_with(':')) {
    line.fail(line.peek(), "the capture's name and its session", example);
    return {};
  }
  auto source = line.text("the capture's name");
  if (!source || !line.expect("session", example)) return {};
  Evidence evidence;
  evidence.source = *std::move(source);
  const std::string_view rest = line.rest();
  const auto colon = rest.find(':');
  const std::string number(rest.substr(0, colon));
  std::vector<Diagnostic> unused;
  LineReader session(number, 0, unused);
  const auto value = session.integer("a session number", 0, INT64_MAX);
  // What stands behind the colon is text to the line's end, so a '#' before it belongs nowhere.
  if (!value || !session.finish() || !session.comment().empty() || colon == rest.npos) {
    line.fail(line.peek(), "a session number and a colon, such as 1:");
    return {};
  }
  evidence.session = *value;
  auto text = line.free_text(rest.substr(colon + 1), "a text");
  if (!text) return {};
  evidence.text = *std::move(text);
  return evidence;
}

}  // namespace foundling
