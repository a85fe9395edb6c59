#include "schemas/signals/fact_text.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "schemas/signals/encoding_words.h"
#include "schemas/signals/hints.h"
#include "schemas/signals/line_reader.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

std::string quoted(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + '"';
}

std::string hexadecimal(std::uint64_t value, int digits) {
  std::array<char, 16> buffer{};
  const auto stop = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, 16).ptr;
  std::string out(buffer.data(), stop);
  for (char& c : out) c = c >= 'a' && c <= 'f' ? static_cast<char>(c - 'a' + 'A') : c;
  const auto wanted = static_cast<std::size_t>(digits);
  return out.size() < wanted ? std::string(wanted - out.size(), '0') + out : out;
}

// Counts up to 9 read the same in both; above, a code is easier to recognise in hexadecimal.
std::string code_text(std::uint64_t code) {
  return code < 10 ? std::to_string(code) : "0x" + hexadecimal(code, 2);
}

// Pages are counted; beyond two bytes they are data identifiers, which nobody counts.
std::string page_number(std::uint64_t page) {
  return page > 0xFFFF ? "0x" + hexadecimal(page, 2) : std::to_string(page);
}

std::string page_range(const CodeRange& range) {
  std::string out = page_number(range.first);
  return range.first == range.last ? out : out + ".." + page_number(range.last);
}

std::string decimal_range(const CodeRange& range) {
  std::string out = std::to_string(range.first);
  return range.first == range.last ? out : out + ".." + std::to_string(range.last);
}

std::string code_range_text(const CodeRange& range) {
  std::string out = code_text(range.first);
  return range.first == range.last ? out : out + ".." + code_text(range.last);
}

// Whole nanoseconds in milliseconds, exactly.
std::string milliseconds(std::int64_t nanoseconds) {
  std::string out = std::to_string(nanoseconds / 1'000'000);
  const std::int64_t rest = nanoseconds % 1'000'000;
  if (rest == 0) return out;
  const std::string digits = std::to_string(rest);
  out += '.' + std::string(6 - digits.size(), '0') + digits;
  return out.substr(0, out.find_last_not_of('0') + 1);
}

std::string index_text(const IndexFormula& formula) {
  std::string out = "n";
  if (formula.from > 0) out = "(n - " + std::to_string(formula.from) + ')';
  if (formula.from < 0) out = "(n + " + std::to_string(-formula.from) + ')';
  if (formula.operation == IndexFormula::Operation::whole) return out;
  out += formula.operation == IndexFormula::Operation::div ? " div " : " mod ";
  return out + std::to_string(formula.by);
}

std::string page_text(const IndexFormula& formula) {
  if (formula.times == 0) {
    return formula.base < 0 ? std::to_string(formula.base)
                            : page_number(static_cast<std::uint64_t>(formula.base));
  }
  std::string out = formula.base == 0 ? "" : std::to_string(formula.base) + " + ";
  out += index_text(formula);
  return formula.times == 1 ? out : out + " * " + std::to_string(formula.times);
}

std::string step_text(const SpanStep& step) {
  const std::int64_t bits = step.bits.times;
  const bool whole = bits % 8 == 0;
  const std::int64_t amount = whole ? bits / 8 : bits;
  std::string out = " + " + index_text(step.bits) + " * " + std::to_string(amount);
  out += whole ? " byte" : " bit";
  if (std::abs(amount) != 1) out += 's';
  return step.big ? out + " big" : out;
}

std::string unit_text(const std::string& unit) {
  if (unit.empty()) return {};
  const auto special = [](char c) {
    return c == ' ' || c == '"' || c == '#' || c == '(' || c == ')' || c == '=' || c == '*' ||
           c == ',';
  };
  const char first = unit.front();
  const bool odd = (first >= '0' && first <= '9') || first == '+' || first == '-' || first == '.' ||
                   first == '/' || !lookalike_hint(unit).empty() || unit == "table" ||
                   std::ranges::any_of(unit, special);
  return ' ' + (odd ? quoted(unit) : unit);
}

struct Writer {
  std::string operator()(const fact::Blank&) const { return {}; }
  std::string operator()(const fact::Comment& f) const { return f.text; }
  std::string operator()(const fact::Board& f) const { return "board " + quoted(f.name); }
  std::string operator()(const fact::BitRate& f) const {
    return (f.data ? "data-bit-rate " : "bit-rate ") + std::to_string(f.rate);
  }
  std::string operator()(const fact::Note& f) const { return "note " + f.text; }

  std::string operator()(const fact::MessageHead& f) const {
    const bool wide = f.id.is_extended();
    std::string out = "message " + hexadecimal(f.id.number(), wide ? 8 : 3);
    if (wide) out += " extended";
    if (is_payload(f.id)) out += " transport segments";
    if (transport_of(f.id).kind == Transport::Kind::addressed_segments) {
      out += " address " + hexadecimal(transport_of(f.id).address, 2);
    }
    if (f.bus != 0) out += " bus " + std::to_string(f.bus);
    if (f.period_ns != 0) out += " every " + milliseconds(f.period_ns) + " ms";
    if (f.length) out += " length " + std::to_string(*f.length);
    return out;
  }

  std::string operator()(const Selector& f) const {
    std::string out = "selector " + quoted_if_needed(f.name) + " bits " + to_string(f.span);
    for (std::size_t i = 0; i < f.values.size(); ++i) {
      out += (i == 0 ? " values " : ", ") + page_range(f.values[i]);
    }
    return out;
  }

  std::string operator()(const Counter& f) const {
    std::string out = "counter bits " + to_string(f.span);
    if (f.modulus != 0) out += " modulo " + std::to_string(f.modulus);
    if (f.step != 1) out += " step " + std::to_string(f.step);
    return out;
  }

  std::string operator()(const Checksum& f) const {
    std::string out = "checksum bits " + to_string(f.span) + ' ' + quoted_if_needed(f.kind);
    if (!f.polynomial.empty()) out += " polynomial " + f.polynomial;
    if (f.initial) out += " initial " + code_text(*f.initial);
    if (f.final_xor) out += " final " + code_text(*f.final_xor);
    if (f.reflected) out += " reflected";
    if (f.includes_identifier) out += " identifier";
    if (f.bytes) out += " bytes " + decimal_range(*f.bytes);
    return out;
  }

  std::string operator()(const fact::SignalHead& f) const {
    return "signal " + quoted_if_needed(f.name);
  }

  std::string operator()(const fact::SeriesHead& f) const {
    const std::string first = std::to_string(f.numbers.first);
    const auto digits = static_cast<std::size_t>(f.numbers.digits);
    const std::string zeros(digits > first.size() ? digits - first.size() : 0, '0');
    return "series " + quoted_if_needed(f.name) + ' ' + zeros + first + ".." +
           std::to_string(f.numbers.last);
  }

  std::string operator()(const PageOf& f) const {
    return "on " + quoted_if_needed(f.selector) + ' ' + page_text(f.value);
  }

  std::string operator()(const fact::Bits& f) const {
    std::string out = "bits " + to_string(f.span);
    if (f.step) out += step_text(*f.step);
    if (f.encoding != Encoding::unsigned_integer) out += ' ' + to_string(f.encoding);
    if (f.words_swapped) out += " swapped";
    return out;
  }

  std::string operator()(const fact::Linear& f) const {
    std::string out = "value = raw";
    if (f.scale != 1) out += " * " + shortest(f.scale);
    if (f.offset != 0) out += (f.offset < 0 ? " - " : " + ") + shortest(std::abs(f.offset));
    return out + unit_text(f.unit);
  }

  std::string operator()(const fact::TableHead& f) const {
    return "value = table" + unit_text(f.unit);
  }
  std::string operator()(const TablePoint& f) const {
    return "point " + shortest(f.raw) + " = " + shortest(f.value);
  }
  std::string operator()(const StateWord& f) const {
    return "state " + code_text(f.code) + " = " + quoted_if_needed(f.word);
  }
  std::string operator()(const ReservedCode& f) const {
    return "reserved " + code_range_text(f.codes) + ' ' + quoted_if_needed(f.word);
  }
  std::string operator()(const fact::StatusLine& f) const {
    switch (f.status) {
      case Status::confirmed:
        return "status confirmed";
      case Status::refuted:
        return "status refuted";
      case Status::proposed:
        break;
    }
    return "status proposed";
  }
  std::string operator()(const fact::Delay& f) const {
    return "delay " + shortest(f.seconds) + " s";
  }
  std::string operator()(const fact::TimeConstant& f) const {
    return "time-constant " + shortest(f.seconds) + " s";
  }
  // In quotes always: words that begin with a digit are no member's number then.
  std::string operator()(const PlaceWords& f) const {
    return "where " + (f.members ? decimal_range(*f.members) + ' ' : "") + quoted(f.text);
  }
  std::string operator()(const Pin& f) const {
    return "pin " + quoted_if_needed(f.name) + ' ' + quoted(f.text);
  }
  std::string operator()(const Evidence& f) const {
    std::string out = "seen " + quoted_if_needed(f.source) + " session ";
    out += std::to_string(f.session) + ':';
    return f.text.empty() ? out : out + ' ' + f.text;
  }
};

}  // namespace

std::string to_text(const fact::Fact& fact) { return std::visit(Writer{}, fact); }

std::string shortest(double value) {
  // Both forms are the shortest of their kind; a person reads 0.0001 more easily than 1e-04.
  const double size = std::abs(value);
  const bool plain = size == 0 || (size >= 1e-7 && size < 1e15);
  std::array<char, 64> buffer{};
  const auto format = plain ? std::chars_format::fixed : std::chars_format::scientific;
  const auto stop = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, format).ptr;
  return {buffer.data(), stop};
}

std::string quoted_if_needed(std::string_view text) {
  return is_plain_word(text) ? std::string(text) : quoted(text);
}

}  // namespace foundling
