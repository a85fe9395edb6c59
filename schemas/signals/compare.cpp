#include "schemas/signals/compare.h"

#include <algorithm>
#include <iterator>
#include <memory>
#include <unordered_map>
#include <utility>

#include "schemas/signals/described.h"

namespace foundling {
namespace {

using Kind = MapChange::Kind;
using Changes = std::vector<MapChange>;

// What is said of one subject, before and after. A fact without a value (a note) is there or not.
Changes compare_said(const std::string& subject, const Said& before, const Said& after) {
  Changes out;
  for (const auto& [key, value] : after) {
    const auto old = before.find(key);
    const bool bare = value.empty();
    if (old != before.end() && old->second == value) continue;
    const std::string what = key.second.empty() || bare ? key.first : key.first + ' ' + key.second;
    const bool is_new = old == before.end();
    const std::string was = is_new ? std::string() : old->second;
    const bool added = is_new && !key.second.empty();
    out.push_back(
        {added ? Kind::added : Kind::changed, subject, what, was, bare ? key.second : value});
  }
  for (const auto& [key, value] : before) {
    if (after.contains(key)) continue;
    const bool bare = value.empty();
    const std::string what = key.second.empty() || bare ? key.first : key.first + ' ' + key.second;
    out.push_back({key.second.empty() ? Kind::changed : Kind::removed,
                   subject,
                   what,
                   bare ? key.second : value,
                   {}});
  }
  return out;
}

void append(Changes& to, Changes changes) { std::ranges::move(changes, std::back_inserter(to)); }

std::string summary(const DescribedSignal& signal) {
  std::string text = signal.place;
  for (const char* what : {"scale", "offset", "unit"}) {
    const auto said = signal.facts->find({what, {}});
    if (said != signal.facts->end()) text += std::string(", ") + what + ' ' + said->second;
  }
  return text;
}

struct SignalChanges {  // with empty subjects
  const DescribedSignal* signal = nullptr;
  Changes own;
  std::shared_ptr<const Changes> shared;  // with other members of a series, where there are any
};

// What two signals say differently but for where they are; members of one series in turn are
// compared once.
class SharedChanges {
 public:
  std::shared_ptr<const Changes> of(const DescribedSignal& before, const DescribedSignal& after) {
    if (before.facts != before_ || after.facts != after_) {
      before_ = before.facts;
      after_ = after.facts;
      changes_ = std::make_shared<const Changes>(compare_said({}, *before_, *after_));
    }
    return changes_;
  }

 private:
  std::shared_ptr<const Said> before_;
  std::shared_ptr<const Said> after_;
  std::shared_ptr<const Changes> changes_;
};

// Signals of the earlier map that a signal of the later one may be.
class Earlier {
 public:
  explicit Earlier(const std::vector<DescribedSignal>& signals) {
    for (const DescribedSignal& signal : signals) {
      by_name_.emplace(signal.name, &signal);
      by_place_.emplace(signal.place, &signal);
      left_.push_back(&signal);
    }
  }
  // Taken once; of several with a name (refuted ones) the one at the same place.
  const DescribedSignal* take_named(const DescribedSignal& later) {
    const auto [first, last] = by_name_.equal_range(later.name);
    const DescribedSignal* best = nullptr;
    for (auto at = first; at != last; ++at) {
      if (is_taken(at->second)) continue;
      if (best == nullptr || at->second->place == later.place) best = at->second;
    }
    return take(best);
  }
  const DescribedSignal* take_placed(const DescribedSignal& later) {
    const auto [first, last] = by_place_.equal_range(later.place);
    for (auto at = first; at != last; ++at) {
      if (!is_taken(at->second)) return take(at->second);
    }
    return nullptr;
  }
  [[nodiscard]] std::vector<const DescribedSignal*> left() const {
    std::vector<const DescribedSignal*> out;
    std::ranges::copy_if(left_, std::back_inserter(out),
                         [this](const DescribedSignal* signal) { return !is_taken(signal); });
    return out;
  }

 private:
  [[nodiscard]] bool is_taken(const DescribedSignal* signal) const {
    return taken_.contains(signal);
  }
  const DescribedSignal* take(const DescribedSignal* signal) {
    if (signal != nullptr) taken_.emplace(signal, true);
    return signal;
  }

  std::unordered_multimap<std::string, const DescribedSignal*> by_name_;
  std::unordered_multimap<std::string, const DescribedSignal*> by_place_;
  std::vector<const DescribedSignal*> left_;
  std::unordered_map<const DescribedSignal*, bool> taken_;
};

std::vector<SignalChanges> compare_signals(const std::vector<DescribedSignal>& before,
                                           const std::vector<DescribedSignal>& after) {
  Earlier earlier(before);
  std::vector<std::pair<const DescribedSignal*, const DescribedSignal*>> pairs;
  for (const DescribedSignal& signal : after)
    pairs.emplace_back(&signal, earlier.take_named(signal));
  std::vector<SignalChanges> all;
  SharedChanges facts;
  const auto none = std::make_shared<const Changes>();
  for (auto [signal, old] : pairs) {
    SignalChanges changes{signal, {}, none};
    if (old == nullptr && (old = earlier.take_placed(*signal)) != nullptr) {
      changes.own.push_back({Kind::renamed, {}, {}, old->name, signal->name});
    }
    if (old == nullptr) {
      changes.own.push_back({Kind::added, {}, {}, {}, summary(*signal)});
    } else {
      append(changes.own, compare_said({}, old->where, signal->where));
      changes.shared = facts.of(*old, *signal);
    }
    if (!changes.own.empty() || !changes.shared->empty()) all.push_back(std::move(changes));
  }
  for (const DescribedSignal* signal : earlier.left()) {
    all.push_back({signal, {{Kind::removed, {}, {}, summary(*signal), {}}}, none});
  }
  return all;
}

bool says_place(const MapChange& change) { return change.what.empty(); }

// Neighbours of a series whose changes are the same are one line: cell_01..cell_28.
bool continues(const SignalChanges& last, const SignalChanges& next) {
  if (last.signal->series.empty() || last.signal->series != next.signal->series) return false;
  if (last.signal->number + 1 != next.signal->number) return false;
  if (last.shared != next.shared && *last.shared != *next.shared) return false;
  if (last.own == next.own) return true;
  // Added or removed members differ in their places alone.
  return last.own.size() == 1 && next.own.size() == 1 && says_place(last.own[0]) &&
         says_place(next.own[0]) && last.own[0].kind == next.own[0].kind &&
         last.own[0].kind != Kind::renamed;
}

void append_grouped(const std::vector<SignalChanges>& all, Changes& out) {
  for (std::size_t first = 0; first < all.size();) {
    std::size_t last = first;
    while (last + 1 < all.size() && continues(all[last], all[last + 1])) ++last;
    std::string subject = all[first].signal->name;
    if (last > first) subject += ".." + all[last].signal->name;
    Changes changes = all[first].own;
    append(changes, *all[first].shared);
    for (MapChange& change : changes) {
      change.subject = subject;
      if (change.kind == Kind::renamed) change.subject = change.before;
      out.push_back(std::move(change));
    }
    first = last + 1;
  }
}

using MessagesByName = std::unordered_map<std::string, const MessageEntry*>;

MessagesByName by_name(const SignalMap& map) {
  MessagesByName messages;
  for (const MessageEntry& message : map.messages) {
    messages.emplace(message_name(message), &message);
  }
  return messages;
}

}  // namespace

std::vector<MapChange> compare_maps(const SignalMap& before, const SignalMap& after) {
  Changes out = compare_said("the map", describe_map(before), describe_map(after));
  const MessagesByName old = by_name(before);
  const MessagesByName now = by_name(after);
  for (const MessageEntry& message : after.messages) {
    const std::string name = message_name(message);
    const auto was = old.find(name);
    if (was == old.end()) out.push_back({Kind::added, name, {}, {}, {}});
    append(out, compare_said(name, was == old.end() ? Said{} : describe_message(*was->second),
                             describe_message(message)));
  }
  for (const MessageEntry& message : before.messages) {
    const std::string name = message_name(message);
    if (!now.contains(name)) out.push_back({Kind::removed, name, {}, {}, {}});
  }
  const auto signals_before = describe_signals(before);
  const auto signals_after = describe_signals(after);
  append_grouped(compare_signals(signals_before, signals_after), out);
  return out;
}

std::string to_text(const MapChange& change) {
  const std::string subject = change.subject + (change.what.empty() ? "" : ' ' + change.what);
  const auto with = [&subject](const char* word, const std::string& value) {
    return subject + ' ' + word + (value.empty() ? "" : ": " + value);
  };
  switch (change.kind) {
    case Kind::added:
      return with("added", change.after);
    case Kind::removed:
      return with("removed", change.before);
    case Kind::renamed:
      return subject + " is now " + change.after;
    case Kind::changed:
      break;
  }
  const auto said = [](const std::string& value) { return value.empty() ? "not said" : value; };
  return subject + ' ' + said(change.before) + " → " + said(change.after);
}

}  // namespace foundling
