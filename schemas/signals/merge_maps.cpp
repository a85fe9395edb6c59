#include "schemas/signals/merge_maps.h"

#include <algorithm>
#include <functional>
#include <set>
#include <string>
#include <utility>

#include "schemas/signals/build.h"
#include "schemas/signals/fact_text.h"
#include "schemas/signals/format.h"
#include "schemas/signals/line_reader.h"
#include "schemas/signals/node_list.h"
#include "schemas/signals/utf8.h"
#include "schemas/signals/verify.h"

namespace foundling {
namespace {

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

// Tries all of first..last-1 together, and its halves where that fails: few faults among many
// changes take few attempts.
void by_halves(std::size_t first, std::size_t last,
               const std::function<bool(std::size_t, std::size_t)>& taken) {
  if (first == last || taken(first, last) || last - first == 1) return;
  const std::size_t middle = first + (last - first) / 2;
  by_halves(first, middle, taken);
  by_halves(middle, last, taken);
}

// Takes their changes piece by piece where all together bring a fault.
class Selection {
 public:
  Selection(const Document& base, const Document& ours, const Document& theirs)
      : base_(base), ours_(ours), theirs_(theirs) {}
  MergedMaps run();

 private:
  [[nodiscard]] Document with(std::size_t message, std::vector<Node> children) const;
  void take_lines(std::size_t message);
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

// What fits of a message that does not fit whole.
void Selection::take_lines(std::size_t message) {
  const Node& theirs = theirs_.nodes[message];
  const std::vector<Node>& old = before(theirs);
  std::vector<std::string> keys;  // of what they changed
  std::set<std::string> refused;
  for (const Item& item : items_of(theirs.children)) {
    const auto same = std::ranges::find(old, *item.node);
    if (same != old.end() || std::holds_alternative<fact::Comment>(item.node->fact)) continue;
    keys.push_back(item.key);
    refused.insert(item.key);
  }
  const auto reduced = [&] {
    const auto is_refused = [&refused](const Item& item) { return refused.contains(item.key); };
    return with(message, reverted(theirs.children, old, is_refused, Comments::revert));
  };
  // Not even their deletions fit: the message stays as it was, but for comments.
  if (!fits(reduced())) return leave_out(theirs, theirs);
  by_halves(0, keys.size(), [&](std::size_t first, std::size_t last) {
    for (std::size_t i = first; i < last; ++i) refused.erase(keys[i]);
    if (fits(reduced())) return true;
    for (std::size_t i = first; i < last; ++i) refused.insert(keys[i]);
    return false;
  });
  for (const Item& item : items_of(theirs.children)) {
    if (refused.contains(item.key)) leave_out(theirs, *item.node);
  }
  accepted_ = reduced();
}

// A line and all below it as comment lines.
std::vector<Node> as_comments(const Node& line, const std::string& title) {
  std::vector<Node> comments{comment_node(title)};
  Document alone;
  alone.nodes.push_back(line);
  std::string text = format(alone);
  text.erase(0, text.find("\n\n") + 2);
  while (!text.empty()) {
    const auto end = text.find('\n');
    std::string_view one = std::string_view(text).substr(0, end);
    while (!one.empty()) {
      const std::string_view piece = first_bytes(one, longest_free_text - 4);
      comments.push_back(comment_node("  " + std::string(piece)));
      one.remove_prefix(piece.size());
    }
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
  std::vector<std::size_t> messages;
  for (std::size_t i = 0; i < theirs_.nodes.size(); ++i) {
    if (is_message(theirs_.nodes[i])) messages.push_back(i);
  }
  by_halves(0, messages.size(), [&](std::size_t first, std::size_t last) {
    Document more = accepted_;
    for (std::size_t i = first; i < last; ++i) more.nodes[messages[i]] = theirs_.nodes[messages[i]];
    const bool fit = fits(more);
    if (fit) accepted_ = std::move(more);
    if (!fit && last - first == 1) take_lines(messages[first]);
    return fit;
  });
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
