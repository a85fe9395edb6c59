#include "schemas/signals/line_reader.h"

#include <algorithm>
#include <bit>
#include <charconv>
#include <cmath>

#include "schemas/signals/hints.h"
#include "schemas/values/nearest_word.h"
#include "schemas/values/utf8.h"

namespace foundling {
namespace {

bool is_space(char c) { return c == ' ' || c == '\t'; }

bool is_symbol(char c) { return c == '(' || c == ')' || c == '=' || c == '*' || c == ','; }

bool ends_word(char c) { return is_space(c) || is_symbol(c) || c == '"' || c == '#'; }

// All of `text` as a code: decimal, or hexadecimal behind 0x.
std::optional<std::uint64_t> parse_code(std::string_view text) {
  int base = 10;
  if (text.starts_with("0x") || text.starts_with("0X")) {
    base = 16;
    text.remove_prefix(2);
  }
  std::uint64_t value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, failure] = std::from_chars(text.data(), end, value, base);
  if (failure != std::errc{} || stop != end) return {};
  return value;
}

bool is_hexadecimal(std::string_view text) {
  return !text.empty() &&
         text.find_first_not_of("0123456789abcdefABCDEF") == std::string_view::npos;
}

// "11b" and "0b11", as data sheets write two bits, in decimal. Nothing for anything else.
std::optional<std::uint64_t> parse_binary(std::string_view text) {
  if (text.starts_with("0b")) {
    text.remove_prefix(2);
  } else if (text.ends_with('b')) {
    text.remove_suffix(1);
  } else {
    return {};
  }
  std::uint64_t value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, failure] = std::from_chars(text.data(), end, value, 2);
  if (failure != std::errc{} || stop != end) return {};
  return value;
}

// Codes are decimal unless marked: the commonest slips are to leave the mark out, and a dash
// instead of two points.
std::string code_suggestion(std::string_view text) {
  if (text.starts_with('-')) return "codes are the field's bits read as unsigned";
  if (const auto value = parse_binary(text)) {
    return "if it is binary, write " + std::to_string(*value) + "; if hexadecimal, 0x" +
           std::string(text);
  }
  const auto dots = text.find("..");
  const auto dash = text.find('-');
  const bool dashed = dots == std::string_view::npos && dash != std::string_view::npos;
  const bool range = dashed || dots != std::string_view::npos;
  const std::string low(text.substr(0, dashed ? dash : dots));
  const std::string high(range ? text.substr(dashed ? dash + 1 : dots + 2) : std::string_view());
  if (dashed && parse_code(low) && parse_code(high))
    return "did you mean " + low + ".." + high + '?';
  if (!is_hexadecimal(low) || (range && !is_hexadecimal(high))) return {};
  const std::string marked = "0x" + low + (range ? "..0x" + high : "");
  return dashed ? "did you mean " + marked + '?' : "hexadecimal codes are written " + marked;
}

// A word as a message quotes it: recognisable, however long.
std::string quoted_word(std::string_view source) {
  constexpr std::size_t shown = 60;
  std::string word = one_line(source);
  if (word.size() <= shown) return word;
  return std::string(first_bytes(word, shown)) + "...";
}

}  // namespace

LineReader::LineReader(std::string_view line, int number, std::vector<Diagnostic>& diagnostics)
    : line_(line), number_(number), diagnostics_(diagnostics) {
  scan();
}

void LineReader::scan() {
  while (at_ < line_.size() && is_space(line_[at_])) ++at_;
  bare_text_ = {};
  next_ = Token{};
  next_.source = line_.substr(at_, 0);
  if (at_ == line_.size()) return;
  const std::size_t start = at_;
  const char first = line_[at_];
  if (first == '#') {
    comment_ = line_.substr(at_);
    return;
  }
  if (first == '"') {
    next_.kind = Token::Kind::unclosed;
    for (++at_; at_ < line_.size() && line_[at_] != '"'; ++at_) {
      const bool escape = line_[at_] == '\\' && at_ + 1 < line_.size() &&
                          (line_[at_ + 1] == '"' || line_[at_ + 1] == '\\');
      if (escape) ++at_;
      next_.unquoted += line_[at_];
    }
    if (at_ < line_.size()) {
      next_.kind = Token::Kind::quoted;
      ++at_;
    }
  } else if (is_symbol(first)) {
    next_.kind = Token::Kind::symbol;
    ++at_;
  } else {
    next_.kind = Token::Kind::word;
    while (at_ < line_.size() && !ends_word(line_[at_])) ++at_;
  }
  next_.source = line_.substr(start, at_ - start);
}

Token LineReader::take() {
  Token taken = next_;
  if (taken.kind != Token::Kind::end) scan();
  return taken;
}

bool LineReader::accept(std::string_view word) {
  if (next_.kind == Token::Kind::quoted || next_.kind == Token::Kind::end) return false;
  if (next_.source != word) return false;
  scan();
  return true;
}

bool LineReader::expect(std::string_view word, std::string_view example) {
  if (accept(word)) return true;
  const std::string wanted(word);
  const bool near = nearest_word(next_.source, std::span(&wanted, 1)).has_value();
  const std::string quoted = '\'' + wanted + '\'';
  fail(next_, quoted, near ? "did you mean " + quoted + '?' : std::string(example));
  return false;
}

bool LineReader::finish(std::string_view expected) {
  if (next_.kind == Token::Kind::end) return true;
  std::string hint;
  if (next_.source == "(") hint = "a remark stands behind #";
  const bool goes_on = next_.kind == Token::Kind::word || next_.kind == Token::Kind::quoted;
  if (!bare_text_.empty() && goes_on && lookalike_hint(next_.source).empty()) {
    hint = "put it in quotes: \"" + std::string(bare_text_) + ' ' + next_.text() + '"';
  }
  fail(next_, expected, hint);
  return false;
}

bool LineReader::fits(const Token& token, std::string_view text, std::size_t limit,
                      std::string_view what) {
  if (text.size() <= limit) return true;
  diagnostics_.push_back({Severity::error,
                          place_of(token.source),
                          "expected " + std::string(what) + " of at most " + std::to_string(limit) +
                              " bytes, found one of " + std::to_string(text.size()),
                          {}});
  return false;
}

std::optional<std::string> LineReader::text(std::string_view what) {
  const bool plain = next_.kind == Token::Kind::word && is_plain_word(next_.source);
  const bool quoted = next_.kind == Token::Kind::quoted && !one_line(next_.unquoted).empty();
  if (!plain && !quoted) {
    const bool odd = next_.kind == Token::Kind::word;
    fail(next_, what, odd ? "put it in quotes: \"" + std::string(next_.source) + '"' : "");
    return {};
  }
  std::string text = one_line(next_.text());
  if (!fits(next_, text, longest_word, "a name or word")) return {};
  const std::string_view bare = plain ? next_.source : std::string_view();
  scan();
  bare_text_ = bare;
  return text;
}

std::optional<std::string> LineReader::word_of(std::string_view what,
                                               std::span<const std::string> allowed,
                                               const std::string& hint) {
  if (next_.kind == Token::Kind::word &&
      std::ranges::find(allowed, next_.source) != allowed.end()) {
    return take().text();
  }
  const auto near = nearest_word(next_.source, allowed);
  fail(next_, what, near ? "did you mean '" + *near + "'?" : hint);
  return {};
}

std::optional<double> LineReader::number(std::string_view what) {
  std::string_view source = next_.source;
  if (source.size() > 1 && source.front() == '+' && source[1] != '-') source.remove_prefix(1);
  double value = 0;
  const char* end = source.data() + source.size();
  const auto [stop, failure] = std::from_chars(source.data(), end, value);
  const bool read = next_.kind == Token::Kind::word && stop == end && !source.empty();
  if (!read || failure != std::errc{} || !std::isfinite(value)) {
    const bool large = read && failure == std::errc::result_out_of_range;
    fail(next_, what, large ? "a number holds about 1e-308 to 1e308" : number_hint(source));
    return {};
  }
  take();
  return value;
}

std::optional<std::int64_t> LineReader::integer(std::string_view what, std::int64_t low,
                                                std::int64_t high) {
  std::string_view source = next_.source;
  if (source.size() > 1 && source.front() == '+' && source[1] != '-') source.remove_prefix(1);
  std::int64_t value = 0;
  const char* end = source.data() + source.size();
  const auto [stop, failure] = std::from_chars(source.data(), end, value);
  if (next_.kind != Token::Kind::word || failure != std::errc{} || stop != end) {
    fail(next_, what);
    return {};
  }
  if (value < low || value > high) {
    fail(next_,
         std::string(what) + " between " + std::to_string(low) + " and " + std::to_string(high));
    return {};
  }
  take();
  return value;
}

std::optional<std::uint64_t> LineReader::code(std::string_view what) {
  const auto value = next_.kind == Token::Kind::word ? parse_code(next_.source) : std::nullopt;
  if (!value) {
    fail(next_, what, code_suggestion(next_.source));
    return {};
  }
  take();
  return value;
}

std::optional<CodeRange> LineReader::code_range(std::string_view what) {
  const auto dots = next_.source.find("..");
  const auto first = parse_code(next_.source.substr(0, dots));
  const auto last =
      dots == std::string_view::npos ? first : parse_code(next_.source.substr(dots + 2));
  if (next_.kind != Token::Kind::word || !first || !last) {
    fail(next_, what, code_suggestion(next_.source));
    return {};
  }
  if (*first > *last) {
    fail(next_, "a range that goes upwards",
         "did you mean " + std::string(next_.source.substr(dots + 2)) + ".." +
             std::string(next_.source.substr(0, dots)) + '?');
    return {};
  }
  take();
  return CodeRange{*first, *last};
}

std::optional<std::uint64_t> LineReader::hexadecimal(std::string_view what, std::uint64_t high) {
  std::uint64_t value = 0;
  const std::string_view source = next_.source;
  const auto failure = std::from_chars(source.data(), source.data() + source.size(), value, 16).ec;
  if (next_.kind != Token::Kind::word || !is_hexadecimal(source) || failure != std::errc{} ||
      value > high) {
    const bool marked = source.starts_with("0x") && is_hexadecimal(source.substr(2));
    const bool large = is_hexadecimal(source);
    fail(next_, what,
         marked  ? "write " + std::string(source.substr(2)) + ", without 0x"
         : large ? "the largest there is has " + std::to_string(std::bit_width(high)) + " bits"
                 : "");
    return {};
  }
  take();
  return value;
}

std::optional<Span> LineReader::bits(std::string_view what) {
  const auto span = next_.kind == Token::Kind::word ? parse_span(next_.source) : std::nullopt;
  if (!span) {
    fail(next_, what, next_.kind == Token::Kind::word ? span_hint(next_.source) : "");
    return {};
  }
  take();
  return span;
}

std::optional<std::string> LineReader::free_text(std::string_view text, std::string_view what) {
  Token whole;
  whole.source = text;
  if (!fits(whole, text, longest_free_text, what)) return {};
  return one_line(text);
}

std::string_view LineReader::rest() const {
  const auto start = static_cast<std::size_t>(next_.source.data() - line_.data());
  std::string_view rest = line_.substr(start);
  while (!rest.empty() && is_space(rest.back())) rest.remove_suffix(1);
  return rest;
}

TextPlace LineReader::place_of(std::string_view part) const {
  const auto start = static_cast<std::size_t>(part.data() - line_.data());
  return {number_, static_cast<int>(characters(line_.substr(0, start))) + 1,
          std::max(1, static_cast<int>(characters(part)))};
}

void LineReader::fail(const Token& token, std::string_view expected, std::string suggestion) {
  std::string message = "expected " + std::string(expected) + ", found ";
  if (token.kind == Token::Kind::end) {
    message += "the end of the line";
  } else if (token.kind == Token::Kind::unclosed) {
    message += "a quotation mark that is not closed";
    suggestion = "close it with \"";
  } else if (token.kind == Token::Kind::quoted) {
    message += quoted_word(token.source);
  } else {
    message += '\'' + quoted_word(token.source) + '\'';
  }
  if (suggestion.empty()) suggestion = lookalike_hint(token.source);
  diagnostics_.push_back(
      {Severity::error, place_of(token.source), std::move(message), one_line(suggestion)});
}

void LineReader::warn(const Token& token, std::string message, std::string suggestion) {
  diagnostics_.push_back(
      {Severity::warning, place_of(token.source), std::move(message), std::move(suggestion)});
}

bool is_plain_word(std::string_view text) {
  const auto plain = [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return byte >= 0x80 || (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') ||
           (c >= 'a' && c <= 'z') || c == '_' || c == '-' || c == '.';
  };
  return !text.empty() && std::ranges::all_of(text, plain);
}

}  // namespace foundling
