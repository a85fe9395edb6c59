#include "schemas/signals/merge_known.h"

#include <algorithm>
#include <utility>

#include "schemas/signals/build.h"
#include "schemas/signals/field.h"
#include "schemas/signals/merge_signal.h"
#include "schemas/signals/node_list.h"
#include "schemas/signals/verify.h"

namespace foundling {
namespace {

MessageEntry entry_of(const Node& message) {
  Document alone;
  alone.nodes.push_back(message);
  return std::move(build_map(alone).map.messages.front());
}

// A series as a whole; no name begins like this.
std::string series_key(const SignalEntry& series) { return '\n' + name_key(series.name); }

std::vector<std::pair<std::string, std::int64_t>> keys_of(const SignalEntry& entry) {
  if (!entry.numbers) return {{name_key(entry.name), 0}};
  std::vector<std::pair<std::string, std::int64_t>> keys{{series_key(entry), 0}};
  for (std::int64_t n = entry.numbers->first; n <= entry.numbers->last; ++n) {
    keys.emplace_back(name_key(member_name(entry.name, n, *entry.numbers)), n);
  }
  return keys;
}

}  // namespace

KnownSignals::KnownSignals(const Document& document) {
  for (std::size_t i = 0; i < document.nodes.size(); ++i) read_again(document, i);
}

const SignalEntry& KnownSignals::entry_at(const Place& place) const {
  return messages_[place.message].entry.signals[place.signal];
}

std::optional<std::size_t> KnownSignals::message(std::uint8_t bus, CanId id) const {
  const auto at = by_id_.find({bus, id});
  if (at == by_id_.end()) return {};
  return at->second;
}

void KnownSignals::read_again(const Document& document, std::size_t message) {
  messages_.resize(std::max(messages_.size(), message + 1));
  for (const std::string& key : messages_[message].keys) {
    const auto [first, last] = by_name_.equal_range(key);
    for (auto at = first; at != last;) {
      at = at->second.message == message ? by_name_.erase(at) : std::next(at);
    }
  }
  messages_[message] = {};
  const Node& node = document.nodes[message];
  if (!std::holds_alternative<fact::MessageHead>(node.fact)) return;
  messages_[message].entry = entry_of(node);
  by_id_.emplace(std::pair(messages_[message].entry.bus, messages_[message].entry.id), message);
  for (std::size_t i = 0; i < node.children.size(); ++i) {
    if (is_signal(node.children[i])) messages_[message].nodes.push_back(i);
  }
  index(message);
}

void KnownSignals::index(std::size_t message) {
  Message& known = messages_[message];
  for (std::size_t i = 0; i < known.entry.signals.size(); ++i) {
    for (auto& [key, n] : keys_of(known.entry.signals[i])) {
      by_name_.emplace(key, Place{message, i, n});
      known.keys.push_back(std::move(key));
    }
  }
}

std::vector<KnownSignals::Found> KnownSignals::named(const SignalEntry& found) const {
  std::vector<Place> places;
  const auto [first, last] =
      by_name_.equal_range(found.numbers ? series_key(found) : name_key(found.name));
  for (auto at = first; at != last; ++at) places.push_back(at->second);
  std::ranges::sort(places);
  std::vector<Found> all;
  for (const Place& place : places) {
    const Message& message = messages_[place.message];
    const SignalEntry& entry = entry_at(place);
    std::optional<SignalEntry> as = entry;
    if (entry.numbers && !found.numbers) as = member_of(message.entry, entry, place.n);
    const bool same_members = !found.numbers || (entry.numbers->first == found.numbers->first &&
                                                 entry.numbers->last == found.numbers->last);
    if (!as || !same_members) continue;
    all.push_back({place.message, message.nodes[place.signal], entry, *std::move(as)});
  }
  return all;
}

std::optional<KnownSignals::Found> KnownSignals::placed(std::size_t message,
                                                        const SignalEntry& found) const {
  const Message& known = messages_[message];
  for (std::size_t i = 0; i < known.nodes.size(); ++i) {
    const SignalEntry& entry = known.entry.signals[i];
    if (entry.status != Status::refuted && same_place(entry, found) &&
        entry.numbers.has_value() == found.numbers.has_value()) {
      return Found{message, known.nodes[i], entry, entry};
    }
  }
  return {};
}

bool KnownSignals::has_members(const SignalEntry& series) const {
  const auto is_known = [this](const std::string& key, bool as_series) {
    const auto [first, last] = by_name_.equal_range(key);
    return std::any_of(first, last, [&](const auto& item) {
      const SignalEntry& entry = entry_at(item.second);
      return entry.status != Status::refuted && entry.numbers.has_value() == as_series;
    });
  };
  if (is_known(series_key(series), true)) return true;
  const Numbering& numbers = *series.numbers;
  for (std::int64_t n = numbers.first; n <= numbers.last; ++n) {
    if (is_known(name_key(member_name(series.name, n, numbers)), false)) return true;
  }
  return false;
}

bool KnownSignals::fits(const Node& changed, std::size_t message) const {
  Document alone;
  alone.nodes.push_back(changed);
  if (!is_faultless(alone)) return false;
  return std::ranges::none_of(fields_of(build_map(alone).map), [&](const Field& field) {
    const auto [first, last] = by_name_.equal_range(name_key(field.name));
    return std::any_of(first, last, [&](const auto& item) {
      const Place& place = item.second;
      const SignalEntry& entry = entry_at(place);
      if (place.message == message || entry.status == Status::refuted) return false;
      return field.name ==
             (entry.numbers ? member_name(entry.name, place.n, *entry.numbers) : entry.name);
    });
  });
}

}  // namespace foundling
