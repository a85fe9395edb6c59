#include "schemas/signals/merge_order.h"

#include <algorithm>
#include <unordered_set>
#include <utility>

#include "schemas/signals/format.h"

namespace foundling {
namespace {

using Keys = std::vector<std::string_view>;
using KeySet = std::unordered_set<std::string_view>;

Keys keys_in(const std::vector<Item>& items, const KeySet& wanted) {
  Keys keys;
  for (const Item& item : items) {
    if (wanted.contains(item.key)) keys.push_back(item.key);
  }
  return keys;
}

KeySet set_of(const std::vector<Item>& items) {
  KeySet keys;
  keys.reserve(items.size());
  for (const Item& item : items) keys.insert(item.key);
  return keys;
}

// Whether `version` has the lines that it shares with the others in another order than the base.
bool moved_lines(const std::vector<Item>& base, const std::vector<Item>& version,
                 const std::vector<Item>& other) {
  KeySet common;
  const KeySet in_version = set_of(version);
  const KeySet in_other = set_of(other);
  for (const Item& item : base) {
    if (in_version.contains(item.key) && in_other.contains(item.key)) common.insert(item.key);
  }
  return keys_in(base, common) != keys_in(version, common);
}

std::string text_of(const Keys& keys, const LinesByKey& lines) {
  Document document;
  for (const std::string_view key : keys) {
    for (const Node& node : lines.at(key)) {
      if (!std::holds_alternative<fact::Blank>(node.fact)) document.nodes.push_back(node);
    }
  }
  return format(document);
}

// Lines that stand only in one version, by the common line that they stand behind ("" at the top).
std::unordered_map<std::string_view, Keys> runs(const std::vector<Item>& items,
                                                const LinesByKey& lines, const KeySet& common) {
  std::unordered_map<std::string_view, Keys> runs;
  std::string_view behind;
  for (const Item& item : items) {
    if (!lines.contains(item.key)) continue;
    if (common.contains(item.key)) {
      behind = item.key;
    } else {
      runs[behind].push_back(item.key);
    }
  }
  return runs;
}

}  // namespace

std::vector<Node> in_order(const std::vector<Item>& base, const std::vector<Item>& ours,
                           const std::vector<Item>& theirs, LinesByKey lines) {
  const bool follow_theirs = !moved_lines(base, ours, theirs) && moved_lines(base, theirs, ours);
  const KeySet in_ours = set_of(ours);
  KeySet common;
  for (const Item& item : theirs) {
    if (in_ours.contains(item.key) && lines.contains(item.key)) common.insert(item.key);
  }
  auto our_runs = runs(ours, lines, common);
  auto their_runs = runs(theirs, lines, common);
  std::vector<Node> out;
  const auto put = [&out, &lines](const Keys& keys) {
    for (const std::string_view key : keys)
      std::ranges::move(lines.at(key), std::back_inserter(out));
  };
  const auto put_runs = [&](std::string_view behind) {
    Keys first = our_runs[behind];
    Keys second = their_runs[behind];
    if (!first.empty() && !second.empty() && text_of(second, lines) < text_of(first, lines)) {
      std::swap(first, second);
    }
    put(first);
    put(second);
  };
  put_runs({});
  for (const std::string_view key : keys_in(follow_theirs ? theirs : ours, common)) {
    put({key});
    put_runs(key);
  }
  return out;
}

}  // namespace foundling
