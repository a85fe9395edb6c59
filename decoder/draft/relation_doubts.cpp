#include "decoder/draft/relation_doubts.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <optional>

#include "schemas/signals/field.h"

namespace foundling {
namespace {

// What gain errors of a board and rounded scales do not make up, as for an inferred series' sum.
constexpr double agreement = 0.02;

struct Mapped {  // a signal of the map at a field of the sum
  Field field;
  const SignalEntry* entry = nullptr;
};

std::string number(double value) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.4g", value);
  return text.data();
}

std::string with_unit(double value, const std::string& unit) {
  return number(value) + (unit.empty() ? "" : " " + unit);
}

bool is_line(const SignalEntry& entry) {
  return entry.table.empty() && entry.states.empty() &&
         (entry.encoding == Encoding::unsigned_integer ||
          entry.encoding == Encoding::signed_integer);
}

// The first signal of the map that shares bits with a field.
std::optional<Mapped> mapped_at(const FieldPlace& place, const SignalMap& map) {
  for (const Field& field : fields_of(map)) {
    const MessageEntry& message = map.messages[field.message];
    if (message.bus != place.bus || message.id != place.id) continue;
    if (place.page && field.page && field.page->selector == place.page->span &&
        field.page->value != place.page->value) {
      continue;
    }
    if (!field.span.overlaps(place.span)) continue;
    return Mapped{field, &message.signals[field.entry]};
  }
  return {};
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

bool same_start(const Mapped& one, const FieldPlace& place) {
  return one.field.span.lsb == place.span.lsb;
}

// Members whose scale is not the others'.
void doubt_members(const relate::Relations& found,
                   const std::vector<std::optional<Mapped>>& members, RelationDoubts& out,
                   std::optional<double>& usual) {
  const relate::SumRelation& sum = found.sums.front();
  std::vector<double> scales;
  for (std::size_t i = 0; i < members.size(); ++i) {
    const auto& one = members[i];
    if (!one) {
      ++out.missing;
      continue;
    }
    ++out.compared;
    const FieldPlace& place = found.fields[sum.members[i]].place;
    if (!same_start(*one, place)) {
      out.doubts.push_back(one->field.name + ": the map has bits " + to_string(one->field.span) +
                           ", in the sum goes what ends at bit " +
                           to_string(Span{place.span.lsb, place.span.lsb}));
    } else if (is_line(*one->entry)) {
      scales.push_back(one->entry->scale);
    }
  }
  if (scales.empty()) return;
  usual = median(scales);
  for (std::size_t i = 0; i < members.size(); ++i) {
    const auto& one = members[i];
    if (!one || !is_line(*one->entry)) continue;
    if (!same_start(*one, found.fields[sum.members[i]].place)) continue;
    if (std::abs(one->entry->scale - *usual) <= agreement * std::abs(*usual)) continue;
    const bool shown = std::ranges::count(sum.shown, sum.members[i]) > 0;
    out.doubts.push_back(one->field.name + ": a step is " +
                         with_unit(one->entry->scale, one->entry->unit) +
                         " in the map, that of the others " + with_unit(*usual, one->entry->unit) +
                         "; in the sum it counts like them" + (shown ? "" : " (by likeness only)"));
  }
}

// Signals that the map may take for members, and whose own motion is not in the sum.
void doubt_strangers(const relate::Relations& found, const SignalMap& map, double usual,
                     RelationDoubts& out) {
  for (const std::size_t f : found.sums.front().other) {
    const auto one = mapped_at(found.fields[f].place, map);
    if (!one || !is_line(*one->entry)) continue;
    if (std::abs(one->entry->scale - usual) > agreement * std::abs(usual)) continue;
    out.doubts.push_back(one->field.name +
                         ": looks like a member, but its own motion is not in the sum");
  }
}

// total = factor * sum + constant, in codes: the scales must be in that ratio, and with the offsets
// both sides the same.
void doubt_total(const relate::Relations& found, const std::vector<std::optional<Mapped>>& members,
                 const Mapped& total, double usual, RelationDoubts& out) {
  const relate::SumRelation& sum = found.sums.front();
  const double expected = usual / sum.factor;
  const double of_sum = total.entry->scale / expected;
  const auto n = static_cast<double>(sum.members.size());
  const std::string unit = total.entry->unit;
  // The mean of the members, sent with its own scale, is as good.
  if (std::abs(of_sum - 1) > agreement && std::abs(of_sum * n - 1) > agreement) {
    out.doubts.push_back(total.field.name + ": a step is " + with_unit(total.entry->scale, unit) +
                         " in the map, by the members' sum it is " + with_unit(expected, unit));
    return;
  }
  if (std::abs(of_sum - 1) > agreement || out.missing > 0) return;
  double added = 0;
  for (std::size_t i = 0; i < members.size(); ++i) {
    if (!members[i] || !is_line(*members[i]->entry)) return;
    added +=
        found.fields[sum.members[i]].level * members[i]->entry->scale + members[i]->entry->offset;
  }
  const double said = found.fields[sum.total].level * total.entry->scale + total.entry->offset;
  if (std::abs(said - added) <= agreement * std::abs(added)) return;
  out.doubts.push_back(total.field.name + ": the map reads " + with_unit(said, unit) +
                       " where its members add up to " + with_unit(added, unit) +
                       ": an offset is wrong");
}

}  // namespace

RelationDoubts relation_doubts(const relate::Relations& found, const SignalMap& map) {
  RelationDoubts out;
  out.has_sum = !found.sums.empty() && found.sums.front().strong;
  if (!out.has_sum) return out;
  const relate::SumRelation& sum = found.sums.front();
  std::vector<std::optional<Mapped>> members;
  for (const std::size_t f : sum.members) {
    members.push_back(mapped_at(found.fields[f].place, map));
  }
  std::optional<double> usual;
  doubt_members(found, members, out, usual);
  if (!usual) return out;
  doubt_strangers(found, map, *usual, out);
  const auto total = mapped_at(found.fields[sum.total].place, map);
  if (total && is_line(*total->entry) && same_start(*total, found.fields[sum.total].place)) {
    doubt_total(found, members, *total, *usual, out);
  }
  return out;
}

}  // namespace foundling
