#include "schemas/signals/merge_signal.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>
#include <vector>

#include "schemas/signals/fact_text.h"
#include "schemas/signals/field.h"
#include "schemas/signals/node_list.h"
#include "schemas/signals/where.h"
#include "schemas/signals/write.h"

namespace foundling {
namespace {

// Kinds of line that a finding has once or as a group, and that replace each other.
template <typename Wanted>
bool is(const Node& node) {
  return std::holds_alternative<Wanted>(node.fact);
}

bool is_value(const Node& node) {
  return is<fact::Linear>(node) || is<fact::TableHead>(node) || is<TablePoint>(node);
}

using Kind = bool (*)(const Node&);

// Puts `lines` where the first line of that kind was, or after the last fact before `otherwise`.
void replace_kind(std::vector<Node>& children, Kind kind, std::vector<Node> lines) {
  if (lines.empty()) return;
  const auto first = std::ranges::find_if(children, kind);
  std::string comment;
  auto at = std::distance(children.begin(), first);
  if (first != children.end()) {
    comment = first->comment;
    // A comment behind a line that goes is kept on a line of its own.
    std::vector<Node> kept;
    for (auto line = first + 1; line != children.end(); ++line) {
      if (!kind(*line)) {
        kept.push_back(std::move(*line));
      } else if (!line->comment.empty()) {
        kept.push_back(Node{fact::Comment{line->comment}, {}, {}, {}, {}});
      }
    }
    children.erase(first, children.end());
    std::ranges::move(kept, std::back_inserter(children));
  } else {
    const auto status = std::ranges::find_if(children, is<fact::StatusLine>);
    at = std::distance(children.begin(), status);
  }
  lines.front().comment = comment;
  children.insert(children.begin() + at, lines.begin(), lines.end());
}

// A blank line stands above a line: none at the end, and no two together where a line went.
void tidy_blanks(std::vector<Node>& children) {
  std::vector<Node> kept;
  for (Node& line : children) {
    const bool again = is<fact::Blank>(line) && !kept.empty() && is<fact::Blank>(kept.back());
    if (!again) kept.push_back(std::move(line));
  }
  while (!kept.empty() && is<fact::Blank>(kept.back())) kept.pop_back();
  children = std::move(kept);
}

std::vector<Node> lines_of(const Node& node, Kind kind) {
  std::vector<Node> lines;
  std::ranges::copy_if(node.children, std::back_inserter(lines), kind);
  return lines;
}

// As many states as a line is readable with.
std::string state_figures(const SignalEntry& entry) {
  constexpr std::size_t most = 8;
  std::string out;
  for (std::size_t i = 0; i < entry.states.size() && i < most; ++i) {
    out += (i == 0 ? "" : ", ") + to_text(entry.states[i]);
  }
  if (entry.states.size() <= most) return out;
  return out + " and " + std::to_string(entry.states.size() - most) + " more states";
}

bool words_agree(const SignalEntry& map, const SignalEntry& found) {
  return std::ranges::all_of(map.states, [&found](const StateWord& state) {
    const auto other = std::ranges::find(found.states, state.code, &StateWord::code);
    return other == found.states.end() || other->word == state.word;
  });
}

// The value that a signal reads at a raw code; NaN beyond a table's ends.
double value_at(const SignalEntry& entry, double raw) {
  const std::vector<TablePoint>& table = entry.table;
  if (table.empty()) return raw * entry.scale + entry.offset;
  const auto above = std::ranges::lower_bound(table, raw, {}, &TablePoint::raw);
  if (above == table.end()) return std::nan("");
  if (above->raw == raw) return above->value;
  if (above == table.begin()) return std::nan("");
  const TablePoint& below = *std::prev(above);
  return below.value + (raw - below.raw) / (above->raw - below.raw) * (above->value - below.value);
}

// Whether the points that were found lie on what the map says, within a share of their range.
bool table_agrees(const SignalEntry& map, const std::vector<TablePoint>& found, double tolerance) {
  const double range = std::abs(found.back().value - found.front().value);
  return std::ranges::none_of(found, [&](const TablePoint& point) {
    return std::abs(value_at(map, point.raw) - point.value) > tolerance * range;
  });
}

}  // namespace

bool same_place(const SignalEntry& a, const SignalEntry& b) {
  return a.span == b.span && a.step == b.step && a.page == b.page && a.encoding == b.encoding &&
         a.words_swapped == b.words_swapped;
}

bool agrees(const SignalEntry& map, const SignalEntry& found) {
  constexpr double tolerance = 0.01;
  if (!same_place(map, found) || !words_agree(map, found)) return false;
  if (!found.table.empty()) return table_agrees(map, found.table, tolerance);
  if (!map.table.empty()) return true;  // a line found through a curve proves nothing against it
  const double scale = std::abs(map.scale);
  return std::abs(map.scale - found.scale) <= tolerance * scale &&
         std::abs(map.offset - found.offset) <= 2 * scale + tolerance * std::abs(map.offset);
}

std::string figures(const SignalEntry& entry) {
  std::string out =
      to_text(fact::Bits{entry.span, entry.step, entry.encoding, entry.words_swapped});
  if (entry.page) out += ", " + to_text(*entry.page);
  out += ", ";
  if (!entry.states.empty()) {
    out += state_figures(entry);
  } else if (!entry.table.empty()) {
    out += to_text(fact::TableHead{entry.unit}) + " of " + std::to_string(entry.table.size()) +
           " points";
  } else {
    out += to_text(fact::Linear{entry.scale, entry.offset, entry.unit});
  }
  if (!entry.seen.empty()) {
    out += " (" + entry.seen.front().source + " session " +
           std::to_string(entry.seen.front().session) + ')';
  }
  return out;
}

Node updated(const Node& node, const SignalEntry& found) {
  Node out = node;
  const Node fresh = node_of(found);
  const std::vector<Kind> kinds{is<PageOf>,      is<fact::Bits>,  is_value,
                                is<StateWord>,   is<fact::Delay>, is<fact::TimeConstant>,
                                is<ReservedCode>};
  if (!found.page) std::erase_if(out.children, is<PageOf>);
  for (const Kind kind : kinds) replace_kind(out.children, kind, lines_of(fresh, kind));
  for (const Node& note : lines_of(fresh, is<fact::Note>)) {
    if (std::ranges::find(out.children, note) == out.children.end()) out.children.push_back(note);
  }
  tidy_blanks(out.children);
  add_evidence(out, found, true);
  return out;
}

void add_evidence(Node& node, const SignalEntry& found, bool replace) {
  std::map<std::pair<std::string, std::int64_t>, std::size_t> known;  // session -> line
  for (std::size_t i = 0; i < node.children.size(); ++i) {
    const auto* seen = std::get_if<Evidence>(&node.children[i].fact);
    if (seen != nullptr) known.emplace(std::pair(seen->source, seen->session), i);
  }
  for (const Node& line : lines_of(node_of(found), is<Evidence>)) {
    const auto& seen = std::get<Evidence>(line.fact);
    const auto [at, fresh] =
        known.emplace(std::pair(seen.source, seen.session), node.children.size());
    if (fresh) {
      node.children.push_back(line);
    } else if (replace) {
      node.children[at->second].fact = line.fact;
    }
  }
}

bool add_comment(Node& node, const std::string& text) {
  const Node comment = comment_node(text);
  if (std::ranges::find(node.children, comment) != node.children.end()) return false;
  node.children.push_back(comment);
  return true;
}

std::optional<SignalEntry> member_of(const MessageEntry& message, const SignalEntry& series,
                                     std::int64_t n) {
  const auto field = field_of(message, series, n);
  if (!field) return {};
  SignalEntry member = series;
  member.name = field->name;
  member.numbers.reset();
  member.step.reset();
  member.span = field->span;
  const std::string where = where_of(series, n);
  member.places.clear();
  if (!where.empty()) member.places.push_back({{}, where});
  if (member.page) {
    member.page->value =
        IndexFormula{.base = static_cast<std::int64_t>(field->page->value), .times = 0};
  }
  return member;
}

}  // namespace foundling
