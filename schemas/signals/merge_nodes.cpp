#include "schemas/signals/merge_nodes.h"

#include <algorithm>
#include <string_view>
#include <unordered_map>
#include <utility>

#include "schemas/signals/build.h"
#include "schemas/signals/fact_text.h"
#include "schemas/signals/merge_order.h"
#include "schemas/signals/merge_signal.h"
#include "schemas/signals/node_list.h"

namespace foundling {
namespace {

// What one side changed; `clash` where both did, differently: then ours.
template <typename T>
T three_way(const T& base, const T& ours, const T& theirs, bool& clash) {
  if (ours == theirs || theirs == base) return ours;
  if (ours == base) return theirs;
  clash = true;
  return ours;
}

bool opens(const Node& node) {
  return is_signal(node) || std::holds_alternative<fact::MessageHead>(node.fact);
}

SignalEntry entry_of(const Node& signal) {
  std::vector<Diagnostic> unused;
  return build_signal(signal, unused);
}

// A signal without what is about it rather than of it: name, where, notes, evidence, status.
SignalEntry meaning(const Node& signal) {
  SignalEntry entry = entry_of(signal);
  entry.name.clear();
  entry.places.clear();
  entry.notes.clear();
  entry.seen.clear();
  entry.status = Status::proposed;
  return entry;
}

bool is_settled(const Node& signal) { return entry_of(signal).status != Status::proposed; }

// Points that two sides added interleave; a table goes upwards.
void sort_points(std::vector<Node>& lines) {
  std::vector<Node> points;
  for (const Node& line : lines) {
    if (std::holds_alternative<TablePoint>(line.fact)) points.push_back(line);
  }
  std::ranges::stable_sort(points, {},
                           [](const Node& line) { return std::get<TablePoint>(line.fact).raw; });
  auto next = points.begin();
  for (Node& line : lines) {
    if (std::holds_alternative<TablePoint>(line.fact)) line = std::move(*next++);
  }
}

class ThreeWay {
 public:
  std::vector<Node> list(const std::vector<Node>& base, const std::vector<Node>& ours,
                         const std::vector<Node>& theirs, const std::string& where);
  std::vector<MergeRemark> take_remarks() { return std::move(remarks_); }

 private:
  using Lines = std::vector<Node>;  // an item's lines: blank above, the line, comments below
  Lines both(const Item* base, const Item& ours, const Item& theirs, const std::string& where);
  Lines one(const Item* base, const Item& kept, bool by_us, const std::string& where);
  Node node(const Node* base, const Node& ours, const Node& theirs, Lines& below,
            const std::string& where);
  Node signal(const Node& base, const Node& ours, const Node& theirs, Lines& below);
  Node winner(const Node& base, const Node& kept, const Node& other, bool ours, bool conflict,
              Lines& below);
  fact::Fact fact(const Node* base, const Node& ours, const Node& theirs, bool& clash);
  void beside(Node& node, Lines& below, MergeRemark remark);

  std::vector<MergeRemark> remarks_;
};

// A comment with what the other side has: in a message or signal, else on the next line.
void ThreeWay::beside(Node& node, Lines& below, MergeRemark remark) {
  const Node comment = comment_node(remark.text);
  if (opens(node)) {
    (void)add_comment(node, remark.text);
  } else if (std::ranges::find(below, comment) == below.end()) {
    below.push_back(comment);
  }
  remarks_.push_back(std::move(remark));
}

// Period and length of a message are said on one line, but are two facts.
fact::Fact ThreeWay::fact(const Node* base, const Node& ours, const Node& theirs, bool& clash) {
  const auto* a = std::get_if<fact::MessageHead>(&ours.fact);
  const auto* b = std::get_if<fact::MessageHead>(&theirs.fact);
  if (a == nullptr || b == nullptr) {
    if (base == nullptr) clash = !(ours.fact == theirs.fact);
    return base == nullptr ? ours.fact : three_way(base->fact, ours.fact, theirs.fact, clash);
  }
  fact::MessageHead old{a->id, a->bus, 0, {}};
  if (base != nullptr) old = std::get<fact::MessageHead>(base->fact);
  fact::MessageHead merged = *a;
  merged.period_ns = three_way(old.period_ns, a->period_ns, b->period_ns, clash);
  merged.length = three_way(old.length, a->length, b->length, clash);
  return merged;
}

Node ThreeWay::node(const Node* base, const Node& ours, const Node& theirs, Lines& below,
                    const std::string& where) {
  static const Node nothing;
  const Node& old = base == nullptr ? nothing : *base;
  bool clash = false;
  Node merged{fact(base, ours, theirs, clash), {}, {}, ours.place, ours.operand};
  bool two_comments = false;
  merged.comment = three_way(old.comment, ours.comment, theirs.comment, two_comments);
  const std::string name = opens(ours) ? to_text(ours.fact) : where;
  merged.children = list(old.children, ours.children, theirs.children, name);
  if (is_signal(merged)) sort_points(merged.children);
  if (two_comments && !theirs.comment.empty()) {
    const Node comment{fact::Comment{theirs.comment}, {}, {}, {}, {}};
    if (opens(merged)) {
      merged.children.insert(merged.children.begin(), comment);
    } else {
      below.push_back(comment);
    }
  }
  if (clash) {
    beside(merged, below,
           {true, where.empty() ? to_text(ours.fact) : where,
            "conflict: theirs: " + to_text(theirs.fact)});
  }
  return merged;
}

// Of a signal where both sides changed something.
Node ThreeWay::signal(const Node& base, const Node& ours, const Node& theirs, Lines& below) {
  const bool us = is_settled(ours);
  const bool them = is_settled(theirs);
  const bool conflict = us && them;
  const Node* const old = base.children.empty() ? nullptr : &base;
  const bool by_line = (!us && !them) || (conflict && old != nullptr && is_settled(base)) ||
                       (conflict && meaning(ours) == meaning(theirs));
  if (by_line) {
    Node merged = node(old, ours, theirs, below, to_text(ours.fact));
    std::vector<Diagnostic> faults;
    (void)build_signal(merged, faults);
    if (faults.empty()) return merged;
  }
  const bool keep_ours = us || !them;
  return winner(base, keep_ours ? ours : theirs, keep_ours ? theirs : ours, keep_ours,
                conflict || by_line, below);
}

// One side's facts; the other's comments, notes and evidence; its facts as a comment if they say
// something else than both the winner and the base.
Node ThreeWay::winner(const Node& base, const Node& kept, const Node& other, bool ours,
                      bool conflict, Lines& below) {
  Node rest = other;
  rest.fact = base.children.empty() ? kept.fact : base.fact;
  rest.children = reverted(
      other.children, base.children, [](const Item& item) { return is_meaning(item.node->fact); },
      Comments::keep);
  const Node* const old = base.children.empty() ? nullptr : &base;
  const std::string where = to_text(kept.fact);
  Node merged = ours ? node(old, kept, rest, below, where) : node(old, rest, kept, below, where);
  const SignalEntry said = meaning(other);
  if (said == meaning(kept) || (old != nullptr && said == meaning(base))) return merged;
  const std::string whose = !conflict ? "found otherwise: " : "conflict: theirs: ";
  beside(merged, below, {conflict, where, whose + figures(entry_of(other))});
  return merged;
}

ThreeWay::Lines ThreeWay::both(const Item* base, const Item& ours, const Item& theirs,
                               const std::string& where) {
  Lines lines;
  bool unused = false;
  if (three_way(base != nullptr && base->blank, ours.blank, theirs.blank, unused)) {
    lines.emplace_back();
  }
  const Node* const old = base == nullptr ? nullptr : base->node;
  Lines below;
  const bool one_sided = *ours.node == *theirs.node ||
                         (old != nullptr && (*ours.node == *old || *theirs.node == *old));
  if (one_sided) {
    lines.push_back(old != nullptr && *ours.node == *old ? *theirs.node : *ours.node);
  } else if (is_signal(*ours.node)) {
    lines.push_back(signal(old == nullptr ? Node{} : *old, *ours.node, *theirs.node, below));
  } else {
    lines.push_back(node(old, *ours.node, *theirs.node, below, where));
  }
  std::ranges::move(below, std::back_inserter(lines));
  return lines;
}

// A line that one side has: added by it, or deleted by the other.
ThreeWay::Lines ThreeWay::one(const Item* base, const Item& kept, bool by_us,
                              const std::string& where) {
  if (base != nullptr && *kept.node == *base->node) return {};
  Lines lines;
  if (kept.blank) lines.emplace_back();
  Node node = *kept.node;
  Lines below;
  if (base != nullptr) {
    beside(node, below,
           {true, where.empty() || opens(node) ? to_text(node.fact) : where,
            std::string("conflict: ") + (by_us ? "theirs" : "ours") + " deleted this"});
  }
  lines.push_back(std::move(node));
  std::ranges::move(below, std::back_inserter(lines));
  return lines;
}

using Index = std::unordered_map<std::string_view, const Item*>;

Index index_of(const std::vector<Item>& items) {
  Index index;
  index.reserve(items.size());
  for (const Item& item : items) index.emplace(item.key, &item);
  return index;
}

const Item* find(const Index& index, std::string_view key) {
  const auto at = index.find(key);
  return at == index.end() ? nullptr : at->second;
}

std::vector<Node> ThreeWay::list(const std::vector<Node>& base, const std::vector<Node>& ours,
                                 const std::vector<Node>& theirs, const std::string& where) {
  if (ours == theirs || theirs == base) return ours;
  if (ours == base) return theirs;
  const std::vector<Item> old = items_of(base);
  std::vector<Item> us = items_of(ours);
  std::vector<Item> them = items_of(theirs);
  recognise_renamed(us, old);
  recognise_renamed(them, old);
  const Index in_base = index_of(old);
  const Index in_ours = index_of(us);
  const Index in_theirs = index_of(them);
  LinesByKey lines;
  for (const Item& item : us) {
    const Item* const other = find(in_theirs, item.key);
    const Item* const before = find(in_base, item.key);
    Lines merged =
        other != nullptr ? both(before, item, *other, where) : one(before, item, true, where);
    if (!merged.empty()) lines.emplace(item.key, std::move(merged));
  }
  for (const Item& item : them) {
    if (find(in_ours, item.key) != nullptr) continue;
    Lines merged = one(find(in_base, item.key), item, false, where);
    if (!merged.empty()) lines.emplace(item.key, std::move(merged));
  }
  return in_order(old, us, them, std::move(lines));
}

}  // namespace

MergedNodes merge_nodes(const std::vector<Node>& base, const std::vector<Node>& ours,
                        const std::vector<Node>& theirs) {
  ThreeWay merge;
  MergedNodes merged;
  merged.nodes = merge.list(base, ours, theirs, {});
  merged.remarks = merge.take_remarks();
  return merged;
}

}  // namespace foundling
