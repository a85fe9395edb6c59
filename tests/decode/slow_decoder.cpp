#include "tests/decode/slow_decoder.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <optional>
#include <utility>

namespace foundling {
namespace {

// A field as a list of places, the most significant first: by the rule of the span notation, one
// bit at a time.
using Places = std::vector<std::pair<int, int>>;  // byte, bit
using Payload = std::span<const std::uint8_t>;

Places places_of(const Span& span) {
  Places places;
  int byte = span.msb.byte;
  int bit = span.msb.bit;
  while (true) {
    places.emplace_back(byte, bit);
    if (byte == span.lsb.byte && bit == span.lsb.bit) return places;
    if (--bit < 0) {
      bit = 7;
      byte += span.lsb.byte > span.msb.byte ? 1 : -1;
    }
  }
}

// Bit by bit along its line: one that counts up from bit 0 of byte 0, or down from bit 7.
Places moved_places(Places places, std::int64_t bits, bool big) {
  for (auto& [byte, bit] : places) {
    const std::int64_t at = byte * 8 + (big ? 7 - bit : bit) + bits;
    byte = static_cast<int>(at / 8);
    bit = static_cast<int>(at % 8);
    if (big) bit = 7 - bit;
  }
  return places;
}

std::optional<std::uint64_t> slow_bits(const Places& places, Payload payload) {
  std::uint64_t raw = 0;
  for (const auto& [byte, bit] : places) {
    if (static_cast<std::size_t>(byte) >= payload.size()) return {};
    const unsigned whole = payload[static_cast<std::size_t>(byte)];
    raw = raw * 2 + ((whole >> bit) & 1U);
  }
  return raw;
}

std::int64_t slow_formula(const IndexFormula& formula, std::int64_t n) {
  std::int64_t value = n - formula.from;
  if (formula.operation == IndexFormula::Operation::div) value = value / formula.by;
  if (formula.operation == IndexFormula::Operation::mod) value = value % formula.by;
  return formula.base + value * formula.times;
}

Places slow_places(const SignalEntry& entry, std::int64_t n) {
  const Places places = places_of(entry.span);
  if (!entry.step) return places;
  const bool one_byte = entry.span.msb.byte == entry.span.lsb.byte;
  const bool big = one_byte ? entry.step->big : entry.span.msb.byte < entry.span.lsb.byte;
  return moved_places(places, slow_formula(entry.step->bits, n), big);
}

std::string slow_name(const SignalEntry& entry, std::int64_t n) {
  if (!entry.numbers) return entry.name;
  const auto digits = std::max(static_cast<std::size_t>(entry.numbers->digits),
                               std::to_string(entry.numbers->last).size());
  std::string number = std::to_string(n);
  while (number.size() < digits) number.insert(0, "0");
  return entry.name + '_' + number;
}

// Whether the frame is on the entry's page for member n.
bool is_on_page(const MessageEntry& message, const SignalEntry& entry, std::int64_t n,
                Payload payload) {
  if (!entry.page) return true;
  for (const Selector& selector : message.selectors) {
    if (selector.name != entry.page->selector) continue;
    const auto page = slow_bits(places_of(selector.span), payload);
    return page && *page == static_cast<std::uint64_t>(slow_formula(entry.page->value, n));
  }
  return false;
}

// The words of 16 bits in reverse order, by moving their places.
Places swapped_words(const Places& places) {
  Places out;
  for (std::size_t word = places.size() / 16; word-- > 0;) {
    for (std::size_t i = 0; i < 16; ++i) out.push_back(places[word * 16 + i]);
  }
  return out;
}

// The number whose digits are the nibbles, as text; not a number where one is above nine.
double slow_digits(std::uint64_t raw, int width) {
  char text[20];
  std::snprintf(text, sizeof text, "%0*llx", width / 4, static_cast<unsigned long long>(raw));
  char* end = nullptr;
  const unsigned long long number = std::strtoull(text, &end, 10);
  return *end == 0 ? static_cast<double>(number) : std::nan("");
}

double slow_number(const SignalEntry& entry, std::uint64_t raw, int width) {
  if (entry.encoding == Encoding::decimal_digits) return slow_digits(raw, width);
  if (entry.encoding == Encoding::sign_magnitude || entry.encoding == Encoding::ones_complement) {
    std::uint64_t number = 0;
    const bool minus = (raw >> (width - 1)) != 0;
    const bool turned = minus && entry.encoding == Encoding::ones_complement;
    for (int bit = width - 2; bit >= 0; --bit) {
      number = number * 2 + (((raw >> bit) & 1U) != (turned ? 1U : 0U) ? 1 : 0);
    }
    const auto size = static_cast<double>(number);
    return minus && number != 0 ? -size : size;
  }
  if (entry.encoding == Encoding::ieee_float && width == 32) {
    const auto bits = static_cast<std::uint32_t>(raw);
    float value = 0;
    std::memcpy(&value, &bits, sizeof value);
    return static_cast<double>(value);
  }
  if (entry.encoding == Encoding::ieee_float) {
    double value = 0;
    std::memcpy(&value, &raw, sizeof value);
    return value;
  }
  const bool negative = entry.encoding == Encoding::signed_integer && (raw >> (width - 1)) != 0;
  if (!negative) return static_cast<double>(raw);
  const std::uint64_t all = width == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << width) - 1;
  return -static_cast<double>((all - raw) + 1);
}

// A decimal as people write it: digits and how many of them stand behind the point. Digits beyond
// what fits are not whole any more.
struct Written {
  long double digits = 0;
  int behind = 0;
};

Written written(double value) {
  for (int precision = 0;; ++precision) {  // the shortest that reads back the same
    char text[64];
    std::snprintf(text, sizeof text, "%.*e", precision, value);
    if (precision < 17 && std::strtod(text, nullptr) != value) continue;
    Written out;
    const char* exponent = std::strchr(text, 'e');
    for (const char* at = text; at != exponent; ++at) {
      if (*at >= '0' && *at <= '9') out.digits = out.digits * 10 + (*at - '0');
    }
    out.behind = out.digits == 0 ? 0 : precision - std::atoi(exponent + 1);
    if (value < 0) out.digits = -out.digits;
    return out;
  }
}

// The decimal number raw × scale + offset, written out and read by the C library, which rounds
// once; the double's product and sum where a value of the field could have more than 15 digits.
double slow_line(const SignalEntry& entry, double raw, int width) {
  const double rounded = raw * entry.scale + entry.offset;
  if (entry.encoding == Encoding::ieee_float) return rounded;
  const Written scale = written(entry.scale);
  const Written offset = written(entry.offset);
  const int behind = std::max({0, scale.behind, offset.behind});
  const long double step = scale.digits * std::pow(10.0L, behind - scale.behind);
  const long double zero = offset.digits * std::pow(10.0L, behind - offset.behind);
  const bool negative = entry.encoding == Encoding::signed_integer ||
                        entry.encoding == Encoding::sign_magnitude ||
                        entry.encoding == Encoding::ones_complement;
  const long double most = std::pow(2.0L, negative ? width - 1 : width) * std::abs(step);
  if (behind > 15 || !(most + std::abs(zero) < 1e15L)) return rounded;
  char text[64];
  std::snprintf(text, sizeof text, "%.0Lfe-%d", static_cast<long double>(raw) * step + zero,
                behind);
  return std::strtod(text, nullptr);
}

SlowValue slow_value(const SignalEntry& entry, const std::string& name, std::uint64_t raw,
                     int width) {
  for (const ReservedCode& code : entry.reserved) {
    if (code.codes.first <= raw && raw <= code.codes.last) return {name, false, 0, code.word};
  }
  for (const StateWord& state : entry.states) {
    if (state.code == raw) return {name, false, 0, state.word};
  }
  if (!entry.states.empty() && entry.unit.empty() && entry.scale == 1 && entry.offset == 0 &&
      entry.table.empty()) {
    return {name, false, 0, "code " + std::to_string(raw)};
  }
  const double number = slow_number(entry, raw, width);
  if (std::isnan(number)) return {name, false, 0, "not-a-number"};
  if (std::isinf(number)) return {name, false, 0, "infinity"};
  if (entry.table.empty()) return {name, true, slow_line(entry, number, width), {}};
  for (std::size_t i = 1; i < entry.table.size(); ++i) {
    const TablePoint& a = entry.table[i - 1];
    const TablePoint& b = entry.table[i];
    if (number == a.raw) return {name, true, a.value, {}};
    if (number == b.raw) return {name, true, b.value, {}};
    if (a.raw < number && number < b.raw) {
      const double share = (number - a.raw) / (b.raw - a.raw);
      return {name, true, a.value + share * (b.value - a.value), {}};
    }
  }
  return {name, false, 0, "outside-table"};
}

}  // namespace

std::vector<SlowValue> slow_decode(const SignalMap& map, std::uint8_t bus, CanId id,
                                   Payload payload) {
  std::vector<SlowValue> values;
  for (const MessageEntry& message : map.messages) {
    if (message.bus != bus || message.id != id) continue;
    for (const SignalEntry& entry : message.signals) {
      if (entry.status == Status::refuted) continue;
      const std::int64_t first = entry.numbers ? entry.numbers->first : 0;
      const std::int64_t last = entry.numbers ? entry.numbers->last : 0;
      for (std::int64_t n = first; n <= last; ++n) {
        if (!is_on_page(message, entry, n, payload)) continue;
        Places places = slow_places(entry, n);
        if (entry.words_swapped) places = swapped_words(places);
        const auto raw = slow_bits(places, payload);
        if (!raw) continue;
        values.push_back(
            slow_value(entry, slow_name(entry, n), *raw, static_cast<int>(places.size())));
      }
    }
  }
  return values;
}

std::vector<SlowValue> slow_decode(const SignalMap& map, const Frame& frame) {
  return slow_decode(map, frame.bus, frame.id, frame.bytes());
}

}  // namespace foundling
