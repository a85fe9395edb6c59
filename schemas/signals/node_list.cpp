#include "schemas/signals/node_list.h"

#include <algorithm>
#include <map>
#include <set>
#include <string_view>
#include <unordered_map>
#include <unordered_set>

#include "schemas/signals/fact_text.h"
#include "schemas/signals/line_reader.h"
#include "schemas/values/utf8.h"

namespace foundling {
namespace {

// What stays when a line is changed. Lines that are their own text (notes, evidence, comments) are
// never changed: a new text is another line.
struct KeyOf {
  std::string operator()(const fact::Board& /*f*/) const { return "board"; }
  std::string operator()(const fact::BitRate& f) const { return f.data ? "data-bit-rate" : "rate"; }
  std::string operator()(const fact::MessageHead& f) const {
    return to_text(fact::MessageHead{f.id, f.bus, 0, {}});
  }
  std::string operator()(const Selector& f) const { return "selector " + f.name; }
  std::string operator()(const Counter& f) const { return "counter " + to_string(f.span); }
  std::string operator()(const Checksum& f) const { return "checksum " + to_string(f.span); }
  std::string operator()(const fact::SignalHead& f) const { return "signal " + f.name; }
  std::string operator()(const fact::SeriesHead& f) const { return "signal " + f.name; }
  std::string operator()(const PageOf& /*f*/) const { return "on"; }
  std::string operator()(const fact::Bits& /*f*/) const { return "bits"; }
  std::string operator()(const fact::Linear& /*f*/) const { return "value"; }
  std::string operator()(const fact::TableHead& /*f*/) const { return "value"; }
  std::string operator()(const TablePoint& f) const { return "point " + shortest(f.raw); }
  std::string operator()(const StateWord& f) const { return "state " + std::to_string(f.code); }
  std::string operator()(const ReservedCode& f) const {
    return "reserved " + std::to_string(f.codes.first);
  }
  std::string operator()(const fact::StatusLine& /*f*/) const { return "status"; }
  std::string operator()(const fact::Delay& /*f*/) const { return "delay"; }
  std::string operator()(const fact::TimeConstant& /*f*/) const { return "time-constant"; }
  std::string operator()(const PlaceWords& f) const {
    return "where " + (f.members ? std::to_string(f.members->first) : "");
  }
  std::string operator()(const Pin& f) const { return "pin " + f.name; }
  template <typename Other>
  std::string operator()(const Other& f) const {
    return to_text(f);
  }
};

bool is_place(const fact::Fact& fact) {
  return std::holds_alternative<fact::Bits>(fact) || std::holds_alternative<PageOf>(fact);
}

// The lines that say where a signal is.
std::set<std::string> place_of(const Node& signal) {
  std::set<std::string> lines;
  for (const Node& line : signal.children) {
    if (is_place(line.fact)) lines.insert(to_text(line.fact));
  }
  return lines;
}

std::unordered_set<std::string_view> keys_of(const std::vector<Item>& items) {
  std::unordered_set<std::string_view> keys;
  keys.reserve(items.size());
  for (const Item& item : items) keys.insert(item.key);
  return keys;
}

void append(std::vector<Node>& out, const Item& item) {
  if (item.blank) out.push_back(Node{});
  out.push_back(*item.node);
}

}  // namespace

std::vector<Item> items_of(const std::vector<Node>& nodes) {
  std::vector<Item> items;
  std::unordered_map<std::string, int> seen;
  items.reserve(nodes.size());
  seen.reserve(nodes.size());
  bool blank = false;
  for (const Node& node : nodes) {
    if (std::holds_alternative<fact::Blank>(node.fact)) {
      blank = true;
      continue;
    }
    std::string key = std::visit(KeyOf{}, node.fact);
    const int number = ++seen[key];
    if (number > 1) key += '\n' + std::to_string(number);  // no key has a line end of its own
    items.push_back({std::move(key), blank, &node});
    blank = false;
  }
  return items;
}

void recognise_renamed(std::vector<Item>& version, const std::vector<Item>& base) {
  const auto in_version = keys_of(version);
  std::map<std::set<std::string>, std::string> gone;  // place -> key
  for (const Item& item : base) {
    if (is_signal(*item.node) && !in_version.contains(item.key)) {
      gone.emplace(place_of(*item.node), item.key);
    }
  }
  if (gone.empty()) return;
  const auto in_base = keys_of(base);
  for (Item& item : version) {
    if (!is_signal(*item.node) || in_base.contains(item.key)) continue;
    const auto old = gone.find(place_of(*item.node));
    if (old == gone.end()) continue;
    item.key = old->second;
    gone.erase(old);
  }
}

Node comment_node(const std::string& text) {
  std::string line = "# " + text;
  if (line.size() > longest_free_text) {
    line = std::string(first_bytes(line, longest_free_text - 3)) + "...";
  }
  return Node{fact::Comment{std::move(line)}, {}, {}, {}, {}};
}

bool is_signal(const Node& node) {
  return std::holds_alternative<fact::SignalHead>(node.fact) ||
         std::holds_alternative<fact::SeriesHead>(node.fact);
}

bool is_meaning(const fact::Fact& fact) {
  return is_place(fact) || std::holds_alternative<fact::Linear>(fact) ||
         std::holds_alternative<fact::TableHead>(fact) ||
         std::holds_alternative<TablePoint>(fact) || std::holds_alternative<StateWord>(fact) ||
         std::holds_alternative<ReservedCode>(fact) ||
         std::holds_alternative<fact::StatusLine>(fact) ||
         std::holds_alternative<fact::Delay>(fact) ||
         std::holds_alternative<fact::TimeConstant>(fact);
}

std::vector<Node> reverted(const std::vector<Node>& version, const std::vector<Node>& base,
                           const std::function<bool(const Item&)>& which, Comments comments) {
  const std::vector<Item> before = items_of(base);
  std::vector<Item> items = items_of(version);
  recognise_renamed(items, before);
  const auto kept = keys_of(items);
  std::unordered_map<std::string_view, const Item*> by_key;
  for (const Item& item : before) by_key.emplace(item.key, &item);
  const bool keep = comments == Comments::keep;
  std::vector<Node> out;
  for (const Item& item : items) {
    if (!which(item)) {
      append(out, item);
      continue;
    }
    const auto old = by_key.find(item.key);
    if (old != by_key.end()) {
      append(out, {item.key, item.blank, old->second->node});
      if (keep && !item.node->comment.empty()) out.back().comment = item.node->comment;
    } else if (keep && !item.node->comment.empty()) {
      out.push_back(Node{fact::Comment{item.node->comment}, {}, {}, {}, {}});
    }
  }
  for (const Item& item : before) {
    if (which(item) && !kept.contains(item.key)) append(out, item);
  }
  return out;
}

}  // namespace foundling
