#include "decoder/decode/field_plan.h"

#include <algorithm>
#include <bit>
#include <cmath>

#include "schemas/signals/encoding_words.h"
#include "schemas/values/number_codes.h"

namespace foundling {
namespace {

double as_number(const FieldPlan& plan, std::uint64_t raw) {
  switch (plan.encoding) {
    case Encoding::sign_magnitude:
      return from_sign_magnitude(raw, plan.bits.mask);
    case Encoding::ones_complement:
      return from_ones_complement(raw, plan.bits.mask);
    case Encoding::decimal_digits:
      return from_digits(raw);
    case Encoding::signed_integer:
      return static_cast<double>(static_cast<std::int64_t>(raw << plan.bits.sign_shift) >>
                                 plan.bits.sign_shift);
    case Encoding::ieee_float:
      if (plan.bits.sign_shift == 32) {
        return static_cast<double>(std::bit_cast<float>(static_cast<std::uint32_t>(raw)));
      }
      return std::bit_cast<double>(raw);
    case Encoding::unsigned_integer:
      break;
  }
  return static_cast<double>(raw);
}

void reserve(DecodedValue& value, std::string_view word) {
  value.kind = ValueKind::reserved;
  value.word = word;
}

// Straight lines between the points; beyond them nothing is known.
void between(const std::vector<TablePoint>& table, double raw, DecodedValue& value) {
  const auto above = std::ranges::lower_bound(table, raw, {}, &TablePoint::raw);
  if (above == table.end() || raw < table.front().raw) return reserve(value, "outside-table");
  if (above->raw == raw) {
    value.number = above->value;
    return;
  }
  const TablePoint& low = *(above - 1);
  const double share = (raw - low.raw) / (above->raw - low.raw);
  value.number = low.value + share * (above->value - low.value);
}

// Codes with words come before numbers: a reserved code is never a number.
bool has_word(const SignalEntry& entry, DecodedValue& value) {
  for (const ReservedCode& code : entry.reserved) {
    if (value.raw >= code.codes.first && value.raw <= code.codes.last) {
      reserve(value, code.word);
      return true;
    }
  }
  const auto state = std::ranges::find(entry.states, value.raw, &StateWord::code);
  if (state == entry.states.end()) return false;
  value.kind = ValueKind::state;
  value.word = state->word;
  return true;
}

// A signal that has only states has no numbers.
bool only_states(const SignalEntry& entry) {
  return !entry.states.empty() && entry.table.empty() && entry.scale == 1 && entry.offset == 0 &&
         (entry.unit.empty() || entry.unit == "state");
}

}  // namespace

std::uint64_t load_wide(const BitsPlan& plan, WindowBytes window) {
  const std::uint64_t bits = extract(plan.span, window);
  if (!plan.swapped) return bits;
  std::uint64_t raw = 0;
  for (int at = 0; at < plan.span.width(); at += 16) raw = raw << 16U | ((bits >> at) & 0xFFFFU);
  return raw;
}

BitsPlan plan_bits(const Span& span, bool swapped) {
  BitsPlan plan;
  plan.span = span;
  const int width = span.width();
  const int skipped = 7 - span.msb.bit;  // bits above the field in a big-endian window
  plan.big = span.order() == ByteOrder::big;
  plan.swapped = swapped;
  plan.wide = swapped || (plan.big ? skipped : int{span.lsb.bit}) + width > 64;
  plan.start = plan.big ? span.msb.byte : span.lsb.byte;
  plan.shift = plan.wide  ? std::uint8_t{0}
               : plan.big ? static_cast<std::uint8_t>(64 - skipped - width)
                          : span.lsb.bit;
  plan.sign_shift = static_cast<std::uint8_t>(64 - width);
  plan.bytes = static_cast<std::uint8_t>(span.last_byte() + 1);
  plan.mask = ~std::uint64_t{0} >> plan.sign_shift;
  return plan;
}

FieldPlan plan_field(const Field& field, const SignalEntry& entry, std::uint32_t number) {
  FieldPlan plan;
  plan.bits = plan_bits(field.span, entry.words_swapped);
  plan.field = number;
  plan.encoding = entry.encoding;
  plan.plain =
      entry.table.empty() && entry.states.empty() && entry.reserved.empty() &&
      (entry.encoding == Encoding::unsigned_integer || entry.encoding == Encoding::signed_integer);
  plan.line = decimal_line(entry.scale, entry.offset, field.span.width(), has_sign(entry.encoding));
  if (entry.encoding == Encoding::ieee_float) {
    plan.line = {entry.scale, entry.offset, 1, 0, false};
  }
  plan.entry = &entry;
  return plan;
}

void look_up(const FieldPlan& plan, DecodedValue& value) {
  value.number = 0;
  if (has_word(*plan.entry, value)) return;
  const double number = as_number(plan, value.raw);
  value.number = plan.line.at(number);
  if (only_states(*plan.entry)) {
    value.kind = ValueKind::code;
  } else if (!std::isfinite(number)) {
    reserve(value, std::isnan(number) ? "not-a-number" : "infinity");
  } else if (!plan.entry->table.empty()) {
    between(plan.entry->table, number, value);
  }
}

}  // namespace foundling
