#include "schemas/signals/merge_maps.h"

#include <algorithm>
#include <set>
#include <string>
#include <utility>

#include "schemas/signals/build.h"
#include "schemas/signals/fact_text.h"
#include "schemas/signals/format.h"
#include "schemas/signals/node_list.h"
#include "schemas/signals/verify.h"

namespace foundling {
namespace {

bool is_faultless(const Document& document) {
  return build_map(document).diagnostics.empty() && !has_errors(verify_map(document));
}

// The comment behind the first line; where both changed it, theirs begins the document.
void merge_header(const Document& base, const Document& ours, const Document& theirs,
                  Document& merged) {
  merged.header_comment = ours.header_comment;
  if (theirs.header_comment == base.header_comment ||
      theirs.header_comment == ours.header_comment) {
    return;
  }
  if (ours.header_comment == base.header_comment) {
    merged.header_comment = theirs.header_comment;
  } else if (!theirs.header_comment.empty()) {
    merged.nodes.insert(merged.nodes.begin(),
                        Node{fact::Comment{theirs.header_comment}, {}, {}, {}, {}});
  }
}

MergedMaps merge_once(const Document& base, const Document& ours, const Document& theirs) {
  MergedNodes nodes = merge_nodes(base.nodes, ours.nodes, theirs.nodes);
  MergedMaps merged{{{}, std::move(nodes.nodes)}, std::move(nodes.remarks)};
  merge_header(base, ours, theirs, merged.document);
  auto& lines = merged.document.nodes;
  if (!lines.empty() && std::holds_alternative<fact::Blank>(lines.front().fact)) {
    lines.erase(lines.begin());  // there is one between the first line and the next anyway
  }
  return merged;
}

// Takes their changes piece by piece where all together bring a fault.
class Selection {
 public:
  Selection(const Document& base, const Document& ours, const Document& theirs)
      : base_(base), ours_(ours), theirs_(theirs) {}
  MergedMaps run();

 private:
  [[nodiscard]] Document with(std::size_t message, std::vector<Node> children) const;
  void try_message(std::size_t message);
  [[nodiscard]] bool fits(const Document& theirs) const {
    return is_faultless(merge_once(base_, ours_, theirs).document);
  }
  [[nodiscard]] const std::vector<Node>& before(const Node& message) const;
  void leave_out(const Node& message, const Node& line);

  const Document& base_;
  const Document& ours_;
  const Document& theirs_;
  Document accepted_;                            // theirs, as far as it fits
  std::vector<std::pair<Node, Node>> left_out_;  // message and line
};

bool is_message(const Node& node) { return std::holds_alternative<fact::MessageHead>(node.fact); }

bool same_message(const Node& a, const Node& b) {
  const auto* one = std::get_if<fact::MessageHead>(&a.fact);
  const auto* other = std::get_if<fact::MessageHead>(&b.fact);
  return one != nullptr && other != nullptr && one->id == other->id && one->bus == other->bus;
}

const std::vector<Node>& Selection::before(const Node& message) const {
  static const std::vector<Node> none;
  const auto at = std::ranges::find_if(
      base_.nodes, [&message](const Node& node) { return same_message(node, message); });
  return at == base_.nodes.end() ? none : at->children;
}

Document Selection::with(std::size_t message, std::vector<Node> children) const {
  Document changed = accepted_;
  changed.nodes[message].children = std::move(children);
  return changed;
}

void Selection::leave_out(const Node& message, const Node& line) {
  left_out_.emplace_back(message, line);
}

void Selection::try_message(std::size_t message) {
  const Node& theirs = theirs_.nodes[message];
  Document whole = with(message, theirs.children);
  whole.nodes[message].fact = theirs.fact;
  if (fits(whole)) {
    accepted_ = std::move(whole);
    return;
  }
  const std::vector<Node>& old = before(theirs);
  std::set<std::string> refused;
  for (const Item& item : items_of(theirs.children)) {
    const auto same = std::ranges::find(old, *item.node);
    if (same == old.end() && !std::holds_alternative<fact::Comment>(item.node->fact)) {
      refused.insert(item.key);
    }
  }
  const auto reduced = [&] {
    const auto is_refused = [&refused](const Item& item) { return refused.contains(item.key); };
    return with(message, reverted(theirs.children, old, is_refused, Comments::revert));
  };
  // Not even their deletions fit: the message stays as it was, but for comments.
  if (!fits(reduced())) return leave_out(theirs, theirs);
  for (const Item& item : items_of(theirs.children)) {
    if (refused.erase(item.key) == 0) continue;
    if (fits(reduced())) continue;
    refused.insert(item.key);
    leave_out(theirs, *item.node);
  }
  accepted_ = reduced();
}

// A line and all below it as comment lines.
std::vector<Node> as_comments(const Node& line, const std::string& title) {
  std::vector<Node> comments{Node{fact::Comment{"# " + title}, {}, {}, {}, {}}};
  Document alone;
  alone.nodes.push_back(line);
  std::string text = format(alone);
  text.erase(0, text.find("\n\n") + 2);
  while (!text.empty()) {
    const auto end = text.find('\n');
    const std::string one = text.substr(0, end);
    if (!one.empty()) comments.push_back(Node{fact::Comment{"#   " + one}, {}, {}, {}, {}});
    text.erase(0, end == std::string::npos ? end : end + 1);
  }
  return comments;
}

void add_comments(std::vector<Node>& lines, std::vector<Node> comments) {
  const auto there = std::search(lines.begin(), lines.end(), comments.begin(), comments.end());
  if (there != lines.end()) return;
  lines.insert(lines.end(), comments.begin(), comments.end());
}

MergedMaps Selection::run() {
  accepted_ = theirs_;
  for (Node& node : accepted_.nodes) {
    if (!is_message(node)) continue;
    const auto old = std::ranges::find_if(
        base_.nodes, [&node](const Node& other) { return same_message(node, other); });
    if (old != base_.nodes.end()) node.fact = old->fact;
    node.children = before(node);
  }
  for (std::size_t i = 0; i < theirs_.nodes.size(); ++i) {
    if (is_message(theirs_.nodes[i])) try_message(i);
  }
  MergedMaps merged = merge_once(base_, ours_, accepted_);
  for (const auto& [message, line] : left_out_) {
    const auto at = std::ranges::find_if(
        merged.document.nodes,
        [&where = message](const Node& node) { return same_message(node, where); });
    const std::string title = "conflict: theirs does not fit here:";
    auto& lines = at == merged.document.nodes.end() ? merged.document.nodes : at->children;
    add_comments(lines, as_comments(line, title));
    merged.remarks.push_back({true, to_text(line.fact), title + ' ' + to_text(line.fact)});
  }
  return merged;
}

}  // namespace

bool MergedMaps::has_conflicts() const {
  return std::ranges::any_of(remarks, &MergeRemark::conflict);
}

MergedMaps merge_maps(const Document& base, const Document& ours, const Document& theirs) {
  MergedMaps merged = merge_once(base, ours, theirs);
  if (is_faultless(merged.document)) return merged;
  return Selection(base, ours, theirs).run();
}

}  // namespace foundling
