#include "tests/bench/recovery/place.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdio>

namespace foundling::recovery {
namespace {

bool fits(const MessageSeries& message, const Span& span) {
  return span.last_byte() < message.length && span.width() >= 1 && span.width() <= 64;
}

bool page_matches(const MessageSeries& message, const TrueField& field,
                  const std::optional<Page>& page) {
  const auto truth = page_of(field);
  if (!truth && !page) return true;
  if (page && !fits(message, page->span)) return false;
  const auto ordinary_rows = [&](const std::optional<Page>& of) {
    std::vector<std::size_t> rows = rows_of(message, of);
    std::erase_if(rows, [&](std::size_t i) { return !field.is_ordinary(message.t_ns[i]); });
    return rows;
  };
  return ordinary_rows(truth) == ordinary_rows(page);
}

int top_index(std::uint64_t mask) { return 64 - std::countl_zero(mask); }  // one past the highest

std::string identifier_text(std::uint8_t bus, CanId id) {
  char text[32];
  std::snprintf(text, sizeof text, id.is_extended() ? "%d:%08X" : "%d:%03X", bus, id.number());
  return text;
}

}  // namespace

const MessageSeries* find_message(const std::vector<MessageSeries>& messages, std::uint8_t bus,
                                  CanId id) {
  for (const MessageSeries& message : messages) {
    if (message.bus == bus && message.id == id) return &message;
  }
  return nullptr;
}

std::optional<Page> page_of(const TrueField& field) {
  if (!field.page) return {};
  return Page{field.page->span, field.page->value};
}

std::vector<std::size_t> rows_of(const MessageSeries& message, const std::optional<Page>& page) {
  std::vector<std::size_t> rows;
  for (std::size_t i = 0; i < message.size(); ++i) {
    if (!page || extract(page->span, message.row(i)) == page->value) rows.push_back(i);
  }
  return rows;
}

std::uint64_t moved_bits(const MessageSeries& message, std::span<const std::size_t> rows,
                         const Span& span, const TrueField& field) {
  std::uint64_t moved = 0;
  std::optional<std::uint64_t> first;
  for (const std::size_t i : rows) {
    if (!field.is_ordinary(message.t_ns[i])) continue;
    const std::uint64_t raw = extract(span, message.row(i));
    if (!first) first = raw;
    moved |= raw ^ *first;
  }
  return moved;
}

bool same_place(const MessageSeries& message, const TrueField& field, const FieldPlace& place) {
  if (place.bus != field.bus || place.id != field.id || !fits(message, place.span)) return false;
  if (!page_matches(message, field, place.page)) return false;
  if (!field.states.empty() && same_moved_bits(message, field, place.span)) return true;
  if (place.span.lsb != field.span.lsb) return false;
  return place.span.order() == ByteOrder::single || field.span.order() == ByteOrder::single ||
         place.span.order() == field.span.order();
}

bool same_moved_bits(const MessageSeries& message, const TrueField& field, const Span& span) {
  if (!fits(message, span)) return false;
  if (field.is_float) return span == field.span;
  const auto rows = rows_of(message, page_of(field));
  const std::uint64_t moved = moved_bits(message, rows, span, field);
  const auto collect = [](const Span& of, std::uint64_t mask) {
    std::vector<BitPosition> bits;
    for (int i = 0; i < of.width(); ++i) {
      if (((mask >> i) & 1U) != 0) bits.push_back(of.position(i));
    }
    return bits;  // in order of significance
  };
  if (collect(span, moved) != collect(field.span, field.moved)) return false;
  if (!field.states.empty()) return true;
  return span.lsb == field.span.lsb;
}

bool untested_right(const MessageSeries& message, const TrueField& field, const Span& span,
                    int untested_high_bits) {
  if (!fits(message, span)) return false;
  if (field.is_float) return true;
  const auto rows = rows_of(message, page_of(field));
  const int ordinary = span.width() - top_index(moved_bits(message, rows, span, field));
  const int at_all = span.width() - top_index(moved_bits(message, rows, span, TrueField{}));
  return untested_high_bits == ordinary || untested_high_bits == at_all;
}

double raw_value(std::uint64_t raw, int width, bool is_signed, bool is_float) {
  if (is_float && width == 64) return std::bit_cast<double>(raw);
  if (is_float) return static_cast<double>(std::bit_cast<float>(static_cast<std::uint32_t>(raw)));
  if (is_signed) return static_cast<double>(sign_extend(raw, width));
  return static_cast<double>(raw);
}

std::string describe(const FieldPlace& place) {
  std::string text = identifier_text(place.bus, place.id) + " ";
  if (place.page) {
    text += '[';
    text += to_string(place.page->span) + "=" + std::to_string(place.page->value) + "] ";
  }
  return text + to_string(place.span);
}

std::string describe(const TrueField& field) {
  std::string text = describe(FieldPlace{field.bus, field.id, page_of(field), field.span});
  const int tested = top_index(field.moved);
  char numbers[160];
  std::snprintf(numbers, sizeof numbers,
                " %s%dw (%d moved) *%.7g %+.6g delay %.3f tau %.2f noise %.2f LSB",
                field.is_float    ? "float "
                : field.is_signed ? "signed "
                                  : "",
                field.span.width(), tested, field.scale, field.offset, field.delay_s,
                field.time_constant_s, field.is_float ? 0.0 : field.noise / field.scale);
  return text + numbers;
}

}  // namespace foundling::recovery
