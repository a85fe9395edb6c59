#include "schemas/signals/verify_signal.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <map>
#include <set>
#include <string>

#include "schemas/signals/encoding_words.h"
#include "schemas/signals/fact_text.h"
#include "schemas/signals/field.h"
#include "schemas/values/nearest_word.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

using Diagnostics = std::vector<Diagnostic>;

void error(Diagnostics& out, const TextPlace& place, std::string message, std::string hint = {}) {
  out.push_back({Severity::error, place, std::move(message), std::move(hint)});
}

std::string bits_text(int width) { return std::to_string(width) + (width == 1 ? " bit" : " bits"); }

// What a field's bits can hold, for a code that is wider.
std::string codes_hint(const Span& span) {
  const int width = span.width();
  const std::uint64_t highest = ~std::uint64_t{0} >> (64 - width);
  std::array<char, 16> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), highest, 16).ptr;
  std::string hexadecimal(digits.data(), end);
  for (char& c : hexadecimal) c = c >= 'a' ? static_cast<char>(c - 'a' + 'A') : c;
  return "the field is " + to_string(span) + ", " + bits_text(width) + ": codes up to " +
         (highest < 10 ? "" : "0x") + hexadecimal;
}

// Written from its lowest bit to its highest one, a field of whole bytes reads as two bits and the
// bytes between.
void verify_direction(const Node& node, const SignalEntry& entry, Diagnostics& out) {
  const Span& span = entry.span;
  const Span other{span.lsb, span.msb};
  if (span.order() == ByteOrder::single || span.msb.bit != 0 || span.lsb.bit != 7) return;
  out.push_back({Severity::warning, bits_of(node).operand,
                 to_string(span) + " has " + bits_text(span.width()) +
                     ", from the lowest bit of one byte to the highest of another",
                 "the most significant bit comes first: " + to_string(other) + " has " +
                     bits_text(other.width())});
}

void verify_codes(const Node& node, const SignalEntry& entry, Diagnostics& out) {
  const int width = entry.span.width();
  std::set<std::uint64_t> codes;
  double previous = 0;
  bool first_point = true;
  for (const Node& line : node.children) {
    if (const auto* state = std::get_if<StateWord>(&line.fact)) {
      if (!code_fits(state->code, width)) {
        error(out, line.operand, "expected a code of " + bits_text(width) + ", found a wider one",
              codes_hint(entry.span));
      } else if (!codes.insert(state->code).second) {
        error(out, line.operand, "expected a code of its own, found one that has a word already");
      }
    }
    const auto* reserved = std::get_if<ReservedCode>(&line.fact);
    if (reserved != nullptr && !code_fits(reserved->codes.last, width)) {
      error(out, line.operand, "expected codes of " + bits_text(width) + ", found a wider one",
            codes_hint(entry.span));
    }
    if (const auto* point = std::get_if<TablePoint>(&line.fact)) {
      if (!first_point && point->raw <= previous) {
        error(
            out, line.operand,
            "expected a raw value above " + shortest(previous) + ", found " + shortest(point->raw),
            "points go upwards in raw");
      }
      first_point = false;
      previous = point->raw;
    }
  }
}

// A word behind a reserved code is never shown.
void verify_states(const Node& node, const SignalEntry& entry, Diagnostics& out) {
  std::map<std::uint64_t, const Node*> states;
  for (const Node& line : node.children) {
    const auto* state = std::get_if<StateWord>(&line.fact);
    if (state != nullptr) states.emplace(state->code, &line);
  }
  for (const ReservedCode& reserved : entry.reserved) {
    auto state = states.lower_bound(reserved.codes.first);
    while (state != states.end() && state->first <= reserved.codes.last) {
      out.push_back({Severity::warning, state->second->operand,
                     "the word is never shown, its code is reserved (" +
                         quoted_if_needed(reserved.word) + ')',
                     "reserved codes come before states"});
      state = states.erase(state);
    }
  }
}

// The largest value that an integer's bits can give has to be a number.
void verify_scale(const Node& node, const SignalEntry& entry, Diagnostics& out) {
  if (entry.encoding == Encoding::ieee_float) return;
  const double most = std::ldexp(1.0, entry.span.width());
  if (std::isfinite(std::abs(entry.scale) * most + std::abs(entry.offset))) return;
  for (const Node& line : node.children) {
    if (!std::holds_alternative<fact::Linear>(line.fact)) continue;
    error(out, line.operand,
          "expected a scale that keeps values of " + bits_text(entry.span.width()) +
              " below 1e308, found " + shortest(entry.scale));
  }
}

void verify_width(const Node& node, const SignalEntry& entry, Diagnostics& out) {
  const int width = entry.span.width();
  if (entry.encoding == Encoding::ieee_float && width != 32 && width != 64) {
    error(out, bits_of(node).operand,
          "expected 32 or 64 bits for a float, found " + std::to_string(width));
  }
  if (entry.encoding == Encoding::decimal_digits && width % 4 != 0) {
    error(out, bits_of(node).operand,
          "expected four bits a digit, found " + std::to_string(width) + " bits");
  }
  if (has_sign(entry.encoding) && entry.encoding != Encoding::signed_integer && width < 2) {
    error(out, bits_of(node).operand, "expected a sign and at least one more bit, found one bit");
  }
  if (entry.words_swapped && (width % 16 != 0 || width < 32)) {
    error(
        out, bits_of(node).operand,
        "expected two words of 16 bits or more to swap, found " + std::to_string(width) + " bits");
  }
}

bool listed(const Selector& selector, std::int64_t page) {
  return selector.values.empty() ||
         std::ranges::any_of(selector.values, [page](const CodeRange& range) {
           return static_cast<std::uint64_t>(page) >= range.first &&
                  static_cast<std::uint64_t>(page) <= range.last;
         });
}

// The pages that a selector can say, for a suggestion.
std::string pages_of(const Selector& selector) {
  if (selector.values.empty()) {
    return quoted_if_needed(selector.name) + " has " + bits_text(selector.span.width());
  }
  const CodeRange& range = selector.values.front();
  return quoted_if_needed(selector.name) + " has values from " + std::to_string(range.first) +
         " to " + std::to_string(selector.values.back().last) + "; add the page to its line";
}

// The page of member n; false when it was reported.
bool verify_page(const Node& line, const Selector& selector, const SignalEntry& entry,
                 std::int64_t n, Diagnostics& out) {
  const std::int64_t page = entry.page->value.at(n);
  const bool negative = page < 0;
  if (!negative && code_fits(static_cast<std::uint64_t>(page), selector.span.width()) &&
      listed(selector, page)) {
    return true;
  }
  std::string message = "expected a page of selector " + quoted_if_needed(selector.name);
  message += ", found " + std::to_string(page);
  if (entry.numbers) message += " for " + member_name(entry.name, n, *entry.numbers);
  error(out, line.operand, message,
        entry.numbers ? "the series runs out of its pages; check its last member and the formula"
                      : pages_of(selector));
  return false;
}

bool verify_member(const Node& node, const MessageEntry& message, const SignalEntry& entry,
                   std::int64_t n, Diagnostics& out) {
  const auto span = entry.step ? moved(entry.span, entry.step->bits.at(n), entry.step->big)
                               : std::optional<Span>(entry.span);
  const int bytes = bytes_of(message);
  if (span && span->last_byte() < bytes) return true;
  std::string found = span ? "byte " + std::to_string(span->last_byte()) : "a place outside them";
  if (entry.numbers) found += " for " + member_name(entry.name, n, *entry.numbers);
  error(out, bits_of(node).operand,
        "expected bits within the message's " + std::to_string(bytes) + " bytes, found " + found,
        entry.numbers && n > entry.numbers->first
            ? "the series runs out of its bytes; check its last member and the formula"
            : byte_hint(bytes));
  return false;
}

bool starts_too_late(const IndexFormula& formula, const Numbering& numbers) {
  return formula.operation != IndexFormula::Operation::whole && formula.from > numbers.first;
}

// div and mod of a negative number would not be what a person expects.
bool verify_formulas(const Node& node, const SignalEntry& entry, Diagnostics& out) {
  if (!entry.numbers) return true;
  bool good = true;
  for (const Node& line : node.children) {
    const auto* page = std::get_if<PageOf>(&line.fact);
    const auto* bits = std::get_if<fact::Bits>(&line.fact);
    const bool late =
        (page != nullptr && starts_too_late(page->value, *entry.numbers)) ||
        (bits != nullptr && bits->step && starts_too_late(bits->step->bits, *entry.numbers));
    if (!late) continue;
    good = false;
    error(out, line.operand,
          "expected (n - N) with N up to " + std::to_string(entry.numbers->first) + ", found more",
          "the first member is " + std::to_string(entry.numbers->first));
  }
  return good;
}

}  // namespace

std::string byte_hint(int bytes) {
  if (bytes == 0) return {};
  return "bytes count from 0; the last is byte " + std::to_string(bytes - 1);
}

int bytes_of(const MessageEntry& message) {
  return message.length.value_or(
      static_cast<int>(is_payload(message.id) ? longest_payload : longest_frame));
}

bool code_fits(std::uint64_t code, int width) { return width >= 64 || (code >> width) == 0; }

const Node& bits_of(const Node& signal) {
  return *std::ranges::find_if(signal.children, [](const Node& line) {
    return std::holds_alternative<fact::Bits>(line.fact);
  });
}

bool verify_signal(const Node& node, const MessageEntry& message, const SignalEntry& entry,
                   std::vector<Diagnostic>& diagnostics) {
  verify_direction(node, entry, diagnostics);
  verify_codes(node, entry, diagnostics);
  verify_states(node, entry, diagnostics);
  verify_scale(node, entry, diagnostics);
  verify_width(node, entry, diagnostics);
  if (!verify_formulas(node, entry, diagnostics)) return false;
  const Selector* selector = nullptr;
  const Node* page_line = nullptr;
  if (entry.page) {
    page_line = &*std::ranges::find_if(
        node.children, [](const Node& line) { return std::holds_alternative<PageOf>(line.fact); });
    const auto at = std::ranges::find(message.selectors, entry.page->selector, &Selector::name);
    if (at == message.selectors.end()) {
      std::vector<std::string> names;
      for (const Selector& known : message.selectors) names.push_back(known.name);
      const auto near = nearest_word(entry.page->selector, names);
      std::string hint = near ? "did you mean '" + *near + "'?" : "";
      if (names.empty()) hint = "add a line to the message such as: selector page bits 0.7..0.0";
      error(diagnostics, page_line->operand,
            "expected a selector of this message, found '" + entry.page->selector + '\'', hint);
      return false;
    }
    selector = &*at;
  }
  const std::int64_t first = entry.numbers ? entry.numbers->first : 0;
  const std::int64_t last = entry.numbers ? entry.numbers->last : 0;
  for (std::int64_t n = first; n <= last; ++n) {
    if (!verify_member(node, message, entry, n, diagnostics)) return false;
    if (selector != nullptr && !verify_page(*page_line, *selector, entry, n, diagnostics))
      return false;
  }
  return true;
}

}  // namespace foundling
