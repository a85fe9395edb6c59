#include "schemas/signals/field.h"

#include <algorithm>

namespace foundling {
namespace {

const Selector* find_selector(const MessageEntry& message, const std::string& name) {
  const auto at = std::ranges::find(message.selectors, name, &Selector::name);
  return at == message.selectors.end() ? nullptr : &*at;
}

bool fits(std::uint64_t value, int width) { return width >= 64 || (value >> width) == 0; }

// "cell_03" -> "cell_" and "3".
std::pair<std::string_view, std::string_view> split_number(std::string_view name) {
  std::size_t start = name.size();
  while (start > 0 && name[start - 1] >= '0' && name[start - 1] <= '9') --start;
  std::string_view digits = name.substr(start);
  while (digits.size() > 1 && digits.front() == '0') digits.remove_prefix(1);
  return {name.substr(0, start), digits};
}

}  // namespace

std::string member_name(std::string_view series, std::int64_t n, const Numbering& numbers) {
  const std::size_t digits =
      std::max(static_cast<std::size_t>(numbers.digits), std::to_string(numbers.last).size());
  const std::string number = std::to_string(n);
  const std::size_t zeros = digits > number.size() ? digits - number.size() : 0;
  return std::string(series) + '_' + std::string(zeros, '0') + number;
}

std::optional<Field> field_of(const MessageEntry& message, const SignalEntry& entry,
                              std::int64_t n) {
  Field field;
  field.name = entry.numbers ? member_name(entry.name, n, *entry.numbers) : entry.name;
  if (entry.numbers) field.number = n;
  field.span = entry.span;
  if (entry.step) {
    const auto span = moved(entry.span, entry.step->bits.at(n), entry.step->big);
    if (!span) return {};
    field.span = *span;
  }
  if (entry.page) {
    const Selector* selector = find_selector(message, entry.page->selector);
    if (selector == nullptr) return {};
    const std::int64_t page = entry.page->value.at(n);
    if (page < 0 || !fits(static_cast<std::uint64_t>(page), selector->span.width())) return {};
    field.page = FieldPage{selector->span, static_cast<std::uint64_t>(page)};
  }
  return field;
}

std::vector<Field> fields_of(const SignalMap& map) {
  std::vector<Field> fields;
  for (std::size_t m = 0; m < map.messages.size(); ++m) {
    const MessageEntry& message = map.messages[m];
    for (std::size_t e = 0; e < message.signals.size(); ++e) {
      const SignalEntry& entry = message.signals[e];
      if (entry.status == Status::refuted) continue;
      const std::int64_t first = entry.numbers ? entry.numbers->first : 0;
      const std::int64_t last = entry.numbers ? entry.numbers->last : 0;
      for (std::int64_t n = first; n <= last; ++n) {
        auto field = field_of(message, entry, n);
        if (!field) continue;
        field->message = m;
        field->entry = e;
        fields.push_back(*std::move(field));
      }
    }
  }
  return fields;
}

bool same_name(std::string_view a, std::string_view b) {
  return split_number(a) == split_number(b);
}

std::string name_key(std::string_view name) {
  const auto [words, digits] = split_number(name);
  return std::string(words) + std::string(digits);
}

}  // namespace foundling
