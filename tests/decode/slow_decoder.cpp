#include "tests/decode/slow_decoder.h"

#include <cmath>
#include <cstring>

namespace foundling {
namespace {

// Walks from the least significant bit by the rule of the span notation, one bit at a time.
std::optional<std::uint64_t> slow_bits(const Span& span, const Frame& frame) {
  std::uint64_t raw = 0;
  int byte = span.msb.byte;
  int bit = span.msb.bit;
  while (true) {
    if (byte >= frame.length) return {};
    const unsigned whole = frame.payload[static_cast<std::size_t>(byte)];
    raw = raw * 2 + ((whole >> bit) & 1U);
    if (byte == span.lsb.byte && bit == span.lsb.bit) return raw;
    if (--bit < 0) {
      bit = 7;
      byte += span.lsb.byte > span.msb.byte ? 1 : -1;
    }
  }
}

double slow_number(const SignalEntry& entry, std::uint64_t raw, int width) {
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

SlowValue slow_value(const SignalEntry& entry, const Field& field, std::uint64_t raw) {
  for (const ReservedCode& code : entry.reserved) {
    if (code.codes.first <= raw && raw <= code.codes.last) return {field.name, false, 0, code.word};
  }
  for (const StateWord& state : entry.states) {
    if (state.code == raw) return {field.name, false, 0, state.word};
  }
  if (!entry.states.empty() && entry.unit.empty() && entry.scale == 1 && entry.offset == 0 &&
      entry.table.empty()) {
    return {field.name, false, 0, "code " + std::to_string(raw)};
  }
  const double number = slow_number(entry, raw, field.span.width());
  if (std::isnan(number)) return {field.name, false, 0, "not-a-number"};
  if (std::isinf(number)) return {field.name, false, 0, "infinity"};
  if (entry.table.empty()) return {field.name, true, number * entry.scale + entry.offset, {}};
  for (std::size_t i = 1; i < entry.table.size(); ++i) {
    const TablePoint& a = entry.table[i - 1];
    const TablePoint& b = entry.table[i];
    if (number == a.raw) return {field.name, true, a.value, {}};
    if (number == b.raw) return {field.name, true, b.value, {}};
    if (a.raw < number && number < b.raw) {
      const double share = (number - a.raw) / (b.raw - a.raw);
      return {field.name, true, a.value + share * (b.value - a.value), {}};
    }
  }
  return {field.name, false, 0, "outside-table"};
}

}  // namespace

std::vector<SlowValue> slow_decode(const SignalMap& map, const Frame& frame) {
  std::vector<SlowValue> values;
  for (const Field& field : fields_of(map)) {
    const MessageEntry& message = map.messages[field.message];
    if (message.bus != frame.bus || message.id != frame.id) continue;
    if (field.page) {
      const auto page = slow_bits(field.page->selector, frame);
      if (!page || *page != field.page->value) continue;
    }
    const auto raw = slow_bits(field.span, frame);
    if (raw) values.push_back(slow_value(message.signals[field.entry], field, *raw));
  }
  return values;
}

}  // namespace foundling
