// A signal map spread out: one Field a signal, the members of a series each for themselves, with
// the names that channels of the bench have (cell_01 ... cell_28).
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/signals/signal_map.h"

namespace foundling {

struct FieldPage {
  Span selector;
  std::uint64_t value = 0;
  bool operator==(const FieldPage&) const = default;
};

struct Field {
  std::string name;
  std::size_t message = 0;             // into SignalMap::messages
  std::size_t entry = 0;               // into that message's signals
  std::optional<std::int64_t> number;  // member of a series
  std::optional<FieldPage> page;
  Span span;
};

// "cell", 3 of 1..28 -> "cell_03".
[[nodiscard]] std::string member_name(std::string_view series, std::int64_t n,
                                      const Numbering& numbers);

// The place of member n (n is ignored for a plain signal); nothing where the page or span formula
// leaves the payload, or the page names no selector.
[[nodiscard]] std::optional<Field> field_of(const MessageEntry& message, const SignalEntry& entry,
                                            std::int64_t n);

// Every field of every signal that is not refuted, in the map's order. Places that do not exist are
// left out: read_signals has reported them.
[[nodiscard]] std::vector<Field> fields_of(const SignalMap& map);

// Names compared as a person would: numbers at the end without their leading zeros (cell_3 is
// cell_03). Their keys are equal where they are the same.
[[nodiscard]] bool same_name(std::string_view a, std::string_view b);
[[nodiscard]] std::string name_key(std::string_view name);

}  // namespace foundling
