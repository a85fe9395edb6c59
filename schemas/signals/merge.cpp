#include "schemas/signals/merge.h"

#include <algorithm>
#include <map>
#include <optional>
#include <utility>

#include "schemas/signals/build.h"
#include "schemas/signals/fact_text.h"
#include "schemas/signals/merge_known.h"
#include "schemas/signals/merge_signal.h"
#include "schemas/signals/node_list.h"
#include "schemas/signals/write.h"

namespace foundling {
namespace {

using Found = KnownSignals::Found;

class Merge {
 public:
  Merge(const Document& base, const SignalMap& findings)
      : document_(with_head(base, findings)), known_(document_) {}
  Merged run(const SignalMap& findings);

 private:
  using Kind = MergeNote::Kind;
  void note(Kind kind, const std::string& name, std::string text);
  static Document with_head(const Document& base, const SignalMap& findings);
  std::size_t message_node(const MessageEntry& found);
  void complete(std::size_t at, const MessageEntry& found);
  void selectors(std::size_t at, const MessageEntry& found);
  template <typename Part>
  void part(std::size_t at, const Part& found);
  void signal(std::size_t at, const MessageEntry& message, SignalEntry found);
  void members(std::size_t at, const MessageEntry& message, const SignalEntry& series);
  bool meet_by_name(std::size_t at, const SignalEntry& found);
  void meet(const Found& known, const SignalEntry& found);
  void add(std::size_t at, const SignalEntry& found);
  bool attempt(std::size_t at, Node changed);
  void contradict(Node& node, const std::string& name, const std::string& text);

  Document document_;
  KnownSignals known_;
  std::vector<MergeNote> notes_;
  std::map<std::string, std::string> selector_names_;  // found -> in the map, of one message
};

void Merge::note(Kind kind, const std::string& name, std::string text) {
  notes_.push_back({kind, name, std::move(text)});
}

void Merge::contradict(Node& node, const std::string& name, const std::string& text) {
  add_comment(node, text);
  note(Kind::contradicted, name, text);
}

// Puts a changed message in place if the map then still has no faults.
bool Merge::attempt(std::size_t at, Node changed) {
  if (!known_.fits(changed, at)) return false;
  document_.nodes[at] = std::move(changed);
  known_.read_again(document_, at);
  return true;
}

// Board and bit rates where the map says nothing about them.
Document Merge::with_head(const Document& base, const SignalMap& findings) {
  const SignalMap map = build_map(base).map;
  std::vector<Node> lines;
  const auto say = [&lines](fact::Fact fact) {
    lines.push_back({std::move(fact), {}, {}, {}, {}});
  };
  if (map.board.empty() && !findings.board.empty()) say(fact::Board{findings.board});
  if (map.bit_rate == 0 && findings.bit_rate != 0) say(fact::BitRate{findings.bit_rate, false});
  if (map.data_bit_rate == 0 && findings.data_bit_rate != 0) {
    say(fact::BitRate{findings.data_bit_rate, true});
  }
  Document document = base;
  document.nodes.insert(document.nodes.begin(), lines.begin(), lines.end());
  return document;
}

// Where the message is; it is added, without its parts, where the map lacks it.
std::size_t Merge::message_node(const MessageEntry& found) {
  if (const auto known = known_.message(found.bus, found.id)) return *known;
  MessageEntry bare;
  bare.id = found.id;
  bare.bus = found.bus;
  bare.period_ns = found.period_ns;
  bare.length = found.length;
  if (!document_.nodes.empty()) document_.nodes.push_back(Node{});
  document_.nodes.push_back(node_of(bare));
  const std::string line = to_text(document_.nodes.back().fact);
  note(Kind::added, line, line);
  known_.read_again(document_, document_.nodes.size() - 1);
  return document_.nodes.size() - 1;
}

// Period and length where the map does not say them; a longer payload than it says is shown.
void Merge::complete(std::size_t at, const MessageEntry& found) {
  Node& node = document_.nodes[at];
  auto& head = std::get<fact::MessageHead>(node.fact);
  if (head.period_ns == 0) head.period_ns = found.period_ns;
  if (!head.length && found.length) {
    Node changed = node;
    std::get<fact::MessageHead>(changed.fact).length = found.length;
    (void)attempt(at, std::move(changed));
  } else if (found.length && *found.length > *head.length) {
    contradict(node, to_text(head), "found with " + std::to_string(*found.length) + " bytes");
  }
}

void Merge::selectors(std::size_t at, const MessageEntry& found) {
  selector_names_.clear();
  for (const Selector& selector : found.selectors) {
    Node changed = document_.nodes[at];
    Selector line = selector;
    bool is_known = false;
    for (Node& child : changed.children) {
      const auto* old = std::get_if<Selector>(&child.fact);
      if (old == nullptr) continue;
      if (old->span == selector.span) {
        selector_names_[selector.name] = old->name;
        is_known = true;
      } else if (old->name == line.name) {
        line.name += "_found";
      }
    }
    if (is_known) continue;
    selector_names_[selector.name] = line.name;
    changed.children.insert(changed.children.begin(), Node{line, {}, {}, {}, {}});
    if (!attempt(at, std::move(changed))) {
      contradict(document_.nodes[at], selector.name, "found: " + to_text(line));
    }
  }
}

// Counters and checksums: a person's line about the same bits stands.
template <typename Part>
void Merge::part(std::size_t at, const Part& found) {
  Node changed = document_.nodes[at];
  for (const Node& child : changed.children) {
    const auto* old = std::get_if<Part>(&child.fact);
    if (old != nullptr && old->span == found.span) {
      if (!(*old == found) && add_comment(document_.nodes[at], "found: " + to_text(found))) {
        note(Kind::contradicted, to_text(*old), "found: " + to_text(found));
      }
      return;
    }
  }
  changed.children.push_back(Node{found, {}, {}, {}, {}});
  if (!attempt(at, std::move(changed))) {
    contradict(document_.nodes[at], to_text(found), "found: " + to_text(found));
  }
}

void Merge::meet(const Found& known, const SignalEntry& found) {
  Node message = document_.nodes[known.message];
  Node& node = message.children[known.node];
  const bool agree = agrees(known.entry, found);
  const std::string text = "found otherwise: " + figures(found);
  if (known.entry.status == Status::proposed) {
    node = updated(node, found);
    if (message == document_.nodes[known.message]) return;
    if (attempt(known.message, std::move(message))) {
      return note(Kind::updated, known.entry.name, figures(found));
    }
  } else if (agree && known.entry.status == Status::confirmed) {
    add_evidence(node, found, false);
    document_.nodes[known.message] = std::move(message);
    return note(Kind::agreed, known.entry.name, figures(found));
  }
  contradict(document_.nodes[known.message].children[known.node], found.name,
             agree ? "found again: " + figures(found) : text);
}

void Merge::add(std::size_t at, const SignalEntry& found) {
  Node changed = document_.nodes[at];
  // Behind the last signal, so that counters and checksums stay at the end.
  auto place = std::ranges::find_if(changed.children.rbegin(), changed.children.rend(), is_signal);
  changed.children.insert(
      place.base() == changed.children.begin() ? changed.children.end() : place.base(),
      node_of(found));
  if (attempt(at, std::move(changed))) {
    return note(Kind::added, found.name, figures(found));
  }
  contradict(document_.nodes[at], found.name,
             "found " + quoted_if_needed(found.name) + ": " + figures(found) +
                 ", in bits or by a name that the map has otherwise");
}

// A series that the map has in another form: each member for itself.
void Merge::members(std::size_t at, const MessageEntry& message, const SignalEntry& series) {
  MessageEntry renamed = message;
  for (Selector& selector : renamed.selectors) {
    const auto name = selector_names_.find(selector.name);
    if (name != selector_names_.end()) selector.name = name->second;
  }
  const auto names = std::exchange(selector_names_, {});  // here the names are the map's own
  for (std::int64_t n = series.numbers->first; n <= series.numbers->last; ++n) {
    const auto member = member_of(renamed, series, n);
    if (member) signal(at, renamed, *member);
  }
  selector_names_ = names;
}

// A signal that the map knows by this name; says whether that settled the finding.
bool Merge::meet_by_name(std::size_t at, const SignalEntry& found) {
  for (const Found& old : known_.named(found)) {
    Node& node = document_.nodes[old.message].children[old.node];
    if (old.entry.status == Status::refuted) {
      if (old.message != at || !same_place(old.as, found)) continue;  // found somewhere else
      return true;
    }
    const bool whole = old.entry.numbers.has_value() == found.numbers.has_value();
    if (old.message != at) {
      contradict(node, found.name,
                 "found in " + to_text(document_.nodes[at].fact) + ": " + figures(found));
    } else if (whole) {
      meet(old, found);
    } else if (!agrees(old.as, found)) {  // a series is never changed for one of its members
      contradict(node, found.name, found.name + " found otherwise: " + figures(found));
    }
    return true;
  }
  return false;
}

void Merge::signal(std::size_t at, const MessageEntry& message, SignalEntry found) {
  if (found.page) {
    const auto renamed = selector_names_.find(found.page->selector);
    if (renamed != selector_names_.end()) found.page->selector = renamed->second;
  }
  if (meet_by_name(at, found)) return;
  if (found.numbers && known_.has_members(found)) return members(at, message, found);
  // A person may have given it another name: then it is known by its place.
  if (const auto old = known_.placed(at, found)) return meet(*old, found);
  add(at, found);
}

Merged Merge::run(const SignalMap& findings) {
  for (const MessageEntry& message : findings.messages) {
    const std::size_t at = message_node(message);
    complete(at, message);
    selectors(at, message);
    for (const SignalEntry& entry : message.signals) signal(at, message, entry);
    for (const Counter& counter : message.counters) part(at, counter);
    for (const Checksum& checksum : message.checksums) part(at, checksum);
  }
  return {std::move(document_), std::move(notes_)};
}

}  // namespace

Merged merge_findings(const Document& base, const SignalMap& findings) {
  return Merge(base, findings).run(findings);
}

}  // namespace foundling
