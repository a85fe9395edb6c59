#include "schemas/signals/merge_maps.h"

#include <algorithm>
#include <cstdint>
#include <functional>
#include <map>
#include <set>
#include <string>
#include <utility>

#include "schemas/signals/build.h"
#include "schemas/signals/fact_text.h"
#include "schemas/signals/format.h"
#include "schemas/signals/line_reader.h"
#include "schemas/signals/node_list.h"
#include "schemas/signals/verify.h"
#include "schemas/values/utf8.h"

namespace foundling {
namespace {

using Nodes = std::vector<Node>;

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

using MessageKey = std::pair<std::int64_t, std::uint32_t>;  // bus, identifier

bool is_message(const Node& node) { return std::holds_alternative<fact::MessageHead>(node.fact); }

// Requires a message.
MessageKey key_of(const Node& node) {
  const auto& head = std::get<fact::MessageHead>(node.fact);
  return {head.bus, head.id.raw};
}

std::map<MessageKey, std::size_t> messages_in(const Nodes& nodes) {
  std::map<MessageKey, std::size_t> messages;
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    if (is_message(nodes[i])) messages.emplace(key_of(nodes[i]), i);
  }
  return messages;
}

const Node* message_of(const std::map<MessageKey, std::size_t>& messages, const Document& document,
                       const Node& like) {
  const auto at = messages.find(key_of(like));
  return at == messages.end() ? nullptr : &document.nodes[at->second];
}

// Requires a signal or a series.
const std::string& name_of(const Node& line) {
  const auto* const signal = std::get_if<fact::SignalHead>(&line.fact);
  return signal != nullptr ? signal->name : std::get<fact::SeriesHead>(line.fact).name;
}

std::size_t lines_of(const Nodes& nodes) {
  std::size_t lines = nodes.size();
  for (const Node& node : nodes) lines += lines_of(node.children);
  return lines;
}

Document only(const Node* node) { return {{}, node == nullptr ? Nodes{} : Nodes{*node}}; }

// Takes their changes piece by piece where all together bring a fault: first each message by
// itself, which costs no more than all of them once; then those together, as messages may disagree
// with each other. After so much work what was not tried yet is left out: a map that is nothing but
// conflicts takes a second, not minutes.
class Selection {
 public:
  Selection(const Document& base, const Document& ours, const Document& theirs)
      : base_(base), ours_(ours), theirs_(theirs), in_base_(messages_in(base.nodes)) {}
  MergedMaps run();

 private:
  using Fits = std::function<bool(const Node& message)>;

  [[nodiscard]] bool fits(const Document& base, const Document& ours, const Document& theirs);
  [[nodiscard]] bool spent() const { return lines_tried_ >= most_lines_tried; }
  [[nodiscard]] const Node* before(const Node& message) const {  // null: it is new
    return message_of(in_base_, base_, message);
  }
  [[nodiscard]] Node as_before(const Node& message) const;
  void leave_out_whole(const Node& theirs) { left_out_.emplace_back(theirs, theirs); }
  Nodes each_alone();
  void together(const Nodes& wanted);
  Node take_lines(const Node& theirs, const Fits& fits);

  static constexpr std::size_t most_lines_tried = 200'000;

  const Document& base_;
  const Document& ours_;
  const Document& theirs_;
  std::map<MessageKey, std::size_t> in_base_;
  std::size_t lines_tried_ = 0;
  Document accepted_;                            // theirs, as far as it fits
  std::vector<std::pair<Node, Node>> left_out_;  // message and line
};

bool Selection::fits(const Document& base, const Document& ours, const Document& theirs) {
  const std::size_t lines = lines_of(ours.nodes) + lines_of(theirs.nodes);
  if (spent()) return false;
  lines_tried_ += lines;
  return is_faultless(merge_once(base, ours, theirs).document);
}

Node Selection::as_before(const Node& message) const {
  if (const Node* const old = before(message)) return *old;
  Node empty = message;
  empty.children.clear();
  return empty;
}

// What fits of a message that does not fit whole.
Node Selection::take_lines(const Node& theirs, const Fits& fits) {
  const Node old = as_before(theirs);
  std::multimap<std::string, const Node*> old_lines;
  for (const Node& line : old.children) old_lines.emplace(to_text(line.fact), &line);
  const auto is_old = [&old_lines](const Node& line) {
    const auto [first, last] = old_lines.equal_range(to_text(line.fact));
    return std::any_of(first, last, [&line](const auto& entry) { return *entry.second == line; });
  };
  std::vector<std::string> keys;  // of what they changed
  std::set<std::string> refused;
  for (const Item& item : items_of(theirs.children)) {
    if (is_old(*item.node) || std::holds_alternative<fact::Comment>(item.node->fact)) continue;
    keys.push_back(item.key);
    refused.insert(item.key);
  }
  const auto reduced = [&] {
    const auto is_refused = [&refused](const Item& item) { return refused.contains(item.key); };
    Node message = old;
    message.children = reverted(theirs.children, old.children, is_refused, Comments::revert);
    return message;
  };
  // Not even their deletions fit: the message stays as it was, but for comments.
  if (spent() || !fits(reduced())) {
    leave_out_whole(theirs);
    return old;
  }
  by_halves(0, keys.size(), [&](std::size_t first, std::size_t last) {
    for (std::size_t i = first; i < last; ++i) refused.erase(keys[i]);
    if (!spent() && fits(reduced())) return true;
    for (std::size_t i = first; i < last; ++i) refused.insert(keys[i]);
    return false;
  });
  for (const Item& item : items_of(theirs.children)) {
    if (refused.contains(item.key)) left_out_.emplace_back(theirs, *item.node);
  }
  return reduced();
}

// Their messages, as far as they fit when there is no other; one a message of theirs.
Nodes Selection::each_alone() {
  const auto in_ours = messages_in(ours_.nodes);
  Nodes wanted;
  for (const Node& message : theirs_.nodes) {
    if (!is_message(message)) continue;
    const Document base = only(before(message));
    const Document ours = only(message_of(in_ours, ours_, message));
    const Fits fit = [&](const Node& node) { return fits(base, ours, only(&node)); };
    wanted.push_back(fit(message) ? message : take_lines(message, fit));
  }
  return wanted;
}

// Messages with a signal whose name ours has in another message: they hardly fit.
std::set<std::size_t> suspects(const Nodes& ours, const Nodes& theirs) {
  std::map<std::string, MessageKey> home;
  for (const Node& message : ours) {
    for (const Node& line : message.children) {
      if (is_message(message) && is_signal(line)) home.emplace(name_of(line), key_of(message));
    }
  }
  std::set<std::size_t> found;
  for (std::size_t i = 0; i < theirs.size(); ++i) {
    for (const Node& line : theirs[i].children) {
      if (!is_signal(line)) continue;
      const auto at = home.find(name_of(line));
      if (at != home.end() && at->second != key_of(theirs[i])) found.insert(i);
    }
  }
  return found;
}

// The suspects last, so that one of them does not hold up all others.
void Selection::together(const Nodes& wanted) {
  std::vector<std::size_t> places;  // of their messages in the document
  for (std::size_t i = 0; i < theirs_.nodes.size(); ++i) {
    if (is_message(theirs_.nodes[i])) places.push_back(i);
  }
  const std::set<std::size_t> last_ones = suspects(ours_.nodes, wanted);
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    if (!last_ones.contains(i)) order.push_back(i);
  }
  const std::size_t unsuspected = order.size();
  order.insert(order.end(), last_ones.begin(), last_ones.end());
  const auto take = [&](std::size_t first, std::size_t last) {
    if (spent()) {
      if (last - first == 1) leave_out_whole(wanted[order[first]]);
      return false;
    }
    Document more = accepted_;
    for (std::size_t i = first; i < last; ++i) more.nodes[places[order[i]]] = wanted[order[i]];
    const bool fit = fits(base_, ours_, more);
    if (fit) accepted_ = std::move(more);
    if (fit || last - first > 1) return fit;
    Node& place = accepted_.nodes[places[order[first]]];
    place = take_lines(wanted[order[first]], [&](const Node& node) {
      Document with = accepted_;
      with.nodes[places[order[first]]] = node;
      return fits(base_, ours_, with);
    });
    return false;
  };
  by_halves(0, unsuspected, take);
  by_halves(unsuspected, order.size(), take);
}

// A line and all below it as comment lines.
std::vector<Node> as_comments(const Node& line, const std::string& title) {
  std::vector<Node> comments{comment_node(title)};
  Document alone;
  alone.nodes.push_back(line);
  std::string text = format(alone);
  text.erase(0, text.find("\n\n") + 2);
  for (std::string_view rest = text; !rest.empty();) {
    std::string_view one = rest.substr(0, rest.find('\n'));
    rest.remove_prefix(std::min(one.size() + 1, rest.size()));
    while (!one.empty()) {
      const std::string_view piece = first_bytes(one, longest_free_text - 4);
      comments.push_back(comment_node("  " + std::string(piece)));
      one.remove_prefix(piece.size());
    }
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
    if (is_message(node)) node = as_before(node);
  }
  together(each_alone());
  MergedMaps merged = merge_once(base_, ours_, accepted_);
  const auto in_merged = messages_in(merged.document.nodes);
  std::vector<Node> homeless;
  for (const auto& [message, line] : left_out_) {
    const auto at = in_merged.find(key_of(message));
    const std::string title = "conflict: theirs does not fit here:";
    auto& lines = at == in_merged.end() ? homeless : merged.document.nodes[at->second].children;
    add_comments(lines, as_comments(line, title));
    merged.remarks.push_back({true, to_text(line.fact), title + ' ' + to_text(line.fact)});
  }
  add_comments(merged.document.nodes, std::move(homeless));
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
