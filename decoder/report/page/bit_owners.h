// Which field has which bits of a message: what the survey found (counters, checksums, selectors)
// and what the signal map says. Bits of nobody that move are what is still unexplained.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "decoder/analysis/survey.h"
#include "schemas/signals/field.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

enum class OwnerKind : std::uint8_t { selector, counter, checksum, signal };
[[nodiscard]] std::string_view to_string(OwnerKind kind);

struct BitOwner {
  std::string name;
  OwnerKind kind = OwnerKind::signal;
  Span span;
  std::optional<FieldPage> page;     // only on this page
  std::optional<std::size_t> field;  // into `fields`, of a signal
};

// The entry of the map for a message of the bus; null where it has none.
[[nodiscard]] const MessageEntry* entry_of(const SignalMap& map, std::uint8_t bus, CanId id);

// Owners of one message, in order of their first byte. `fields` are fields_of(map). A finding of
// the survey that overlaps one of the map's kind is the same thing and is listed once.
[[nodiscard]] std::vector<BitOwner> owners_of(const MessageSurvey& survey, const SignalMap& map,
                                              const std::vector<Field>& fields);

// The selector that the pictures are split by: the map's, where its signals use one, else the
// survey's first.
[[nodiscard]] std::optional<Span> selector_of(const MessageSurvey& survey, const SignalMap& map,
                                              const std::vector<Field>& fields);

}  // namespace foundling
