#include "decoder/report/page/bit_owners.h"

#include <algorithm>
#include <tuple>

namespace foundling {
namespace {

void add(std::vector<BitOwner>& owners, std::string name, OwnerKind kind, const Span& span) {
  const bool known = std::ranges::any_of(
      owners, [&](const BitOwner& o) { return o.kind == kind && o.span.overlaps(span); });
  if (!known) owners.push_back({std::move(name), kind, span, {}, {}});
}

}  // namespace

std::string_view to_string(OwnerKind kind) {
  switch (kind) {
    case OwnerKind::selector:
      return "selector";
    case OwnerKind::counter:
      return "counter";
    case OwnerKind::checksum:
      return "checksum";
    case OwnerKind::signal:
      break;
  }
  return "signal";
}

const MessageEntry* entry_of(const SignalMap& map, std::uint8_t bus, CanId id) {
  const auto found = std::ranges::find_if(
      map.messages, [&](const MessageEntry& m) { return m.bus == bus && m.id == id; });
  return found == map.messages.end() ? nullptr : &*found;
}

std::vector<BitOwner> owners_of(const MessageSurvey& survey, const SignalMap& map,
                                const std::vector<Field>& fields) {
  std::vector<BitOwner> owners;
  if (const MessageEntry* entry = entry_of(map, survey.bus, survey.id)) {
    for (const Selector& s : entry->selectors) {
      add(owners, "selector " + s.name, OwnerKind::selector, s.span);
    }
    for (const Counter& c : entry->counters) add(owners, "counter", OwnerKind::counter, c.span);
    for (const Checksum& c : entry->checksums) {
      add(owners, "checksum " + c.kind, OwnerKind::checksum, c.span);
    }
    const auto index = static_cast<std::size_t>(entry - map.messages.data());
    for (std::size_t i = 0; i < fields.size(); ++i) {
      if (fields[i].message != index) continue;
      owners.push_back({fields[i].name, OwnerKind::signal, fields[i].span, fields[i].page, i});
    }
  }
  for (const SelectorFinding& s : survey.selectors) {
    add(owners, "selector", OwnerKind::selector, s.span);
  }
  for (const CounterFinding& c : survey.counters) {
    add(owners, "counter", OwnerKind::counter, c.span);
  }
  for (const ChecksumFinding& c : survey.checksums) {
    add(owners, "checksum " + c.kind, OwnerKind::checksum, c.span);
  }
  std::ranges::stable_sort(owners, [](const BitOwner& a, const BitOwner& b) {
    const auto key = [](const BitOwner& o) {
      return std::tuple(o.page ? 1 : 0, o.page ? o.page->value : 0,
                        std::min(o.span.msb.byte, o.span.lsb.byte), 7 - o.span.msb.bit);
    };
    return key(a) < key(b);
  });
  return owners;
}

std::optional<Span> selector_of(const MessageSurvey& survey, const SignalMap& map,
                                const std::vector<Field>& fields) {
  if (const MessageEntry* entry = entry_of(map, survey.bus, survey.id)) {
    const auto index = static_cast<std::size_t>(entry - map.messages.data());
    const auto paged = std::ranges::find_if(
        fields, [&](const Field& f) { return f.message == index && f.page.has_value(); });
    if (paged != fields.end()) return paged->page->selector;
  }
  if (!survey.selectors.empty()) return survey.selectors.front().span;
  return {};
}

}  // namespace foundling
