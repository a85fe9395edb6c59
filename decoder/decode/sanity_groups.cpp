#include "decoder/decode/sanity_groups.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <map>
#include <utility>

namespace foundling {
namespace {

constexpr std::size_t least_members = 4;

// How far apart two good measurements of the same may be: gain errors of a few tenths of a per cent
// on either side are common (common practice, no source).
constexpr double sum_share = 0.01;
constexpr double extreme_share = 0.005;

bool is_voltage(const std::string& unit) { return unit == "V" || unit == "mV"; }

const SignalEntry& entry_of(const SignalMap& map, const Field& field) {
  return map.messages[field.message].signals[field.entry];
}

// cell_03 -> cell; nothing for a name without a trailing number.
std::optional<std::string> stem_of(const std::string& name) {
  std::size_t end = name.size();
  while (end > 0 && name[end - 1] >= '0' && name[end - 1] <= '9') --end;
  if (end == name.size() || end == 0) return {};
  while (end > 0 && (name[end - 1] == '_' || name[end - 1] == '-')) --end;
  return end == 0 ? std::optional<std::string>{} : name.substr(0, end);
}

// What is held against a group has one of these names.
std::map<std::string, SanityKind> names_against(const std::string& stem, bool voltage) {
  using Words = std::vector<const char*>;
  std::vector<std::pair<SanityKind, Words>> roles;
  std::map<std::string, SanityKind> names;
  if (voltage) {
    names.emplace("pack_voltage", SanityKind::sum_of_cells);
    roles.push_back({SanityKind::sum_of_cells, {"sum", "total"}});
  }
  roles.push_back({SanityKind::least_of_cells, {"min", "minimum", "least", "lowest"}});
  roles.push_back({SanityKind::largest_of_cells, {"max", "maximum", "largest", "highest"}});
  for (const auto& [kind, words] : roles) {
    for (const char* word : words) {
      for (const std::string& group : {stem, stem + "s", stem + "_voltage"}) {
        names.emplace(group + '_' + word, kind);
        names.emplace(word + ('_' + group), kind);
      }
      names.emplace(stem + '_' + word + "_voltage", kind);
    }
  }
  return names;
}

double half_step(const SignalMap& map, const Field& field) {
  return std::abs(entry_of(map, field).scale) / 2;
}

ValueRange cells_range(SanityKind kind, const std::vector<std::size_t>& members,
                       std::span<const ValueRange> ranges) {
  ValueRange all;
  for (const std::size_t member : members) {
    const ValueRange& one = ranges[member];
    if (!one.any) return {};
    if (!all.any) {
      all = one;
    } else if (kind == SanityKind::sum_of_cells) {
      all.low += one.low;
      all.high += one.high;
    } else if (kind == SanityKind::least_of_cells) {
      all.low = std::min(all.low, one.low);
      all.high = std::min(all.high, one.high);
    } else {
      all.low = std::max(all.low, one.low);
      all.high = std::max(all.high, one.high);
    }
  }
  return all;
}

std::string figure(double value) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.5g", value);
  return text.data();
}

const char* what_of(SanityKind kind) {
  if (kind == SanityKind::sum_of_cells) return "the sum of ";
  return kind == SanityKind::least_of_cells ? "the least of " : "the largest of ";
}

}  // namespace

void ValueRange::take(double value) {
  low = any ? std::min(low, value) : value;
  high = any ? std::max(high, value) : value;
  any = true;
}

std::vector<SanityGroup> sanity_groups(const SignalMap& map, std::span<const Field> fields) {
  std::map<std::pair<std::string, std::string>, std::vector<std::size_t>> by_name;
  for (std::size_t i = 0; i < fields.size(); ++i) {
    const SignalEntry& entry = entry_of(map, fields[i]);
    if (!entry.states.empty()) continue;
    if (auto stem = stem_of(fields[i].name)) by_name[{*stem, entry.unit}].push_back(i);
  }
  std::multimap<std::string_view, std::size_t> by_whole_name;
  for (std::size_t i = 0; i < fields.size(); ++i) by_whole_name.emplace(fields[i].name, i);
  std::vector<SanityGroup> groups;
  for (auto& [key, members] : by_name) {
    if (members.size() < least_members) continue;
    SanityGroup group{key.first, std::move(members), {}};
    for (const auto& [name, kind] : names_against(key.first, is_voltage(key.second))) {
      const auto [from, to] = by_whole_name.equal_range(name);
      for (auto at = from; at != to; ++at) {
        if (entry_of(map, fields[at->second]).unit != key.second) continue;
        group.against.push_back({kind, at->second});
      }
    }
    std::ranges::sort(group.against, {}, &SanityGroup::Against::field);  // the map's order
    groups.push_back(std::move(group));
  }
  return groups;
}

GroupWatch::GroupWatch(SanityGroup group, const SignalMap& map, std::span<const Field> fields)
    : group_(std::move(group)) {
  double all_steps = 0;
  for (const std::size_t member : group_.members) all_steps += half_step(map, fields[member]);
  const double member_step = half_step(map, fields[group_.members.front()]);
  for (const SanityGroup::Against& against : group_.against) {
    Watched watched;
    watched.field = against.field;
    watched.steps = half_step(map, fields[against.field]) +
                    (against.kind == SanityKind::sum_of_cells ? all_steps : member_step);
    watched.check.kind = against.kind;
    watched.check.subject = fields[against.field].name;
    watched.check.unit = entry_of(map, fields[against.field]).unit;
    watched_.push_back(std::move(watched));
  }
}

void GroupWatch::close_stretch(std::span<const ValueRange> ranges, std::int64_t from_ns,
                               std::int64_t to_ns) {
  for (Watched& watched : watched_) {
    SanityCheck& check = watched.check;
    const ValueRange& said = ranges[watched.field];
    const ValueRange cells = cells_range(check.kind, group_.members, ranges);
    if (!said.any || !cells.any) continue;
    ++check.looked;
    const double apart = std::max({0.0, said.low - cells.high, cells.low - said.high});
    const double size = std::max(std::abs(said.low), std::abs(said.high));
    const double share = check.kind == SanityKind::sum_of_cells ? sum_share : extreme_share;
    check.failing_now = apart > watched.steps + share * size;
    if (!check.failing_now) continue;
    if (check.failed++ == 0) check.first_ns = from_ns;
    check.last_ns = to_ns;
    if (apart <= check.worst) continue;
    check.worst = apart;
    watched.worst_said = said.low > cells.high ? said.low : said.high;
    watched.worst_cells = said.low > cells.high ? cells.high : cells.low;
  }
}

std::vector<SanityCheck> GroupWatch::checks() const {
  std::vector<SanityCheck> all;
  for (const Watched& watched : watched_) {
    if (watched.check.looked == 0) continue;
    SanityCheck check = watched.check;
    const std::string of =
        what_of(check.kind) + std::to_string(group_.members.size()) + ' ' + group_.name + " values";
    if (check.failed == 0) {
      check.text = "agrees with " + of;
    } else {
      check.text = "says " + figure(watched.worst_said) + ' ' + check.unit + " where " + of +
                   " is " + figure(watched.worst_cells) + ' ' + check.unit;
    }
    all.push_back(std::move(check));
  }
  return all;
}

}  // namespace foundling
