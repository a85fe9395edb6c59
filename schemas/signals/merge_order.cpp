#include "schemas/signals/merge_order.h"

#include <algorithm>
#include <set>
#include <utility>

#include "schemas/signals/format.h"

namespace foundling {
namespace {

using Keys = std::vector<std::string>;
using Lines = std::map<std::string, std::vector<Node>>;

Keys keys_in(const std::vector<Item>& items, const std::set<std::string>& wanted) {
  Keys keys;
  for (const Item& item : items) {
    if (wanted.contains(item.key)) keys.push_back(item.key);
  }
  return keys;
}

std::set<std::string> set_of(const std::vector<Item>& items) {
  std::set<std::string> keys;
  for (const Item& item : items) keys.insert(item.key);
  return keys;
}

// Whether `version` has the lines that it shares with the others in another order than the base.
bool moved_lines(const std::vector<Item>& base, const std::vector<Item>& version,
                 const std::vector<Item>& other) {
  std::set<std::string> common;
  const std::set<std::string> in_version = set_of(version);
  const std::set<std::string> in_other = set_of(other);
  for (const Item& item : base) {
    if (in_version.contains(item.key) && in_other.contains(item.key)) common.insert(item.key);
  }
  return keys_in(base, common) != keys_in(version, common);
}

std::string text_of(const Keys& keys, const Lines& lines) {
  Document document;
  for (const std::string& key : keys) {
    for (const Node& node : lines.at(key)) {
      if (!std::holds_alternative<fact::Blank>(node.fact)) document.nodes.push_back(node);
    }
  }
  return format(document);
}

// Lines that stand only in one version, by the common line that they stand behind ("" at the top).
std::map<std::string, Keys> runs(const std::vector<Item>& items, const Lines& lines,
                                 const std::set<std::string>& common) {
  std::map<std::string, Keys> runs;
  std::string behind;
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
                           const std::vector<Item>& theirs, Lines lines) {
  const bool follow_theirs = !moved_lines(base, ours, theirs) && moved_lines(base, theirs, ours);
  const std::set<std::string> in_ours = set_of(ours);
  std::set<std::string> common;
  for (const Item& item : theirs) {
    if (in_ours.contains(item.key) && lines.contains(item.key)) common.insert(item.key);
  }
  auto our_runs = runs(ours, lines, common);
  auto their_runs = runs(theirs, lines, common);
  std::vector<Node> out;
  const auto put = [&out, &lines](const Keys& keys) {
    for (const std::string& key : keys) std::ranges::move(lines.at(key), std::back_inserter(out));
  };
  const auto put_runs = [&](const std::string& behind) {
    Keys first = our_runs[behind];
    Keys second = their_runs[behind];
    if (!first.empty() && !second.empty() && text_of(second, lines) < text_of(first, lines)) {
      std::swap(first, second);
    }
    put(first);
    put(second);
  };
  put_runs({});
  for (const std::string& key : keys_in(follow_theirs ? theirs : ours, common)) {
    put({key});
    put_runs(key);
  }
  return out;
}

}  // namespace foundling
