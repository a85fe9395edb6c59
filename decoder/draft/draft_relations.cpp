#include "decoder/draft/draft_relations.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "decoder/draft/draft_signal.h"
#include "schemas/signals/evidence_words.h"
#include "schemas/signals/field.h"

namespace foundling {
namespace {

bool at_place(const FieldPlace& place, const MessageEntry& message, const Field& field) {
  if (message.bus != place.bus || message.id != place.id) return false;
  const bool other_page = place.page && field.page && field.page->selector == place.page->span &&
                          field.page->value != place.page->value;
  return !other_page && field.span.overlaps(place.span);
}

bool is_known(const FieldPlace& place, const SignalMap& known) {
  return std::ranges::any_of(fields_of(known), [&](const Field& field) {
    const MessageEntry& message = known.messages[field.message];
    return at_place(place, message, field) && !only_by_relation(message.signals[field.entry]);
  });
}

std::string numbered(std::size_t n, std::size_t all) {
  const std::size_t digits = std::max<std::size_t>(2, std::to_string(all).size());
  std::string number = std::to_string(n);
  return "cell_" + std::string(digits - std::min(digits, number.size()), '0') + number;
}

Proposal common(const relate::Relations& found, std::size_t field) {
  const relate::SumScale& scale = *found.scale;
  Proposal out;
  out.unit = scale.unit;
  out.place = found.fields[field].place;
  out.is_signed = found.fields[field].is_signed;
  out.levels = static_cast<int>(scale.readings);
  out.residual_rms = scale.residual_rms;
  out.chance = found.sums.front().chance;
  out.untested_high_bits = out.place.span.width() - found.fields[field].moved_bits;
  return out;
}

Proposal member(const relate::Relations& found, std::size_t index) {
  const relate::SumScale& scale = *found.scale;
  const relate::SumRelation& sum = found.sums.front();
  Proposal out = common(found, sum.members[index]);
  out.channel = numbered(index + 1, sum.members.size());
  out.scale = scale.scale;
  out.offset = scale.offset;
  out.scale_fitted = scale.scale_fitted;
  out.offset_fitted = scale.offset_fitted;
  out.scale_interval = scale.member_interval;
  out.offset_interval = scale.offset_interval;
  const bool shown = std::ranges::count(sum.shown, sum.members[index]) > 0;
  out.note = std::string("by relation, ") +
             (shown ? "its own motion is in the sum" : "by likeness to members of the sum") +
             "; numbered in order of the bus";
  return out;
}

// The number with the fewest digits within `half` of a value; three digits where two do not do.
double roundest(double value, double half) {
  for (int digits = 1; digits <= 3; ++digits) {
    const double round = std::stod(rounded(value, digits));
    if (std::abs(round - value) <= half) return round;
  }
  return std::stod(rounded(value, 4));
}

// The total follows from the members: total = factor * sum + constant.
Proposal total(const relate::Relations& found, const std::string& name) {
  const relate::SumScale& scale = *found.scale;
  const relate::SumRelation& sum = found.sums.front();
  const auto n = static_cast<double>(sum.members.size());
  Proposal out = common(found, sum.total);
  out.channel = name;
  out.scale_fitted = scale.scale_fitted / sum.factor;
  out.offset_fitted = n * scale.offset_fitted - out.scale_fitted * sum.constant;
  const double half = std::abs(out.scale_fitted) *
                      std::hypot((scale.scale_interval.high - scale.scale_interval.low) / 2 /
                                     std::abs(scale.scale_fitted),
                                 2 * sum.factor_deviation / std::abs(sum.factor));
  out.scale_interval = {out.scale_fitted - half, out.scale_fitted + half};
  const double off = n * (scale.offset_interval.high - scale.offset_interval.low) / 2;
  out.offset_interval = {out.offset_fitted - off, out.offset_fitted + off};
  out.scale = roundest(out.scale_fitted, half + relate::members_gain * std::abs(out.scale_fitted));
  // A sum of members without an offset has none, but for how it was rounded.
  const double center = n * scale.offset - out.scale * sum.constant;
  const bool none = scale.offset == 0 && std::abs(sum.constant) <= 2;
  out.offset = none ? 0 : std::stod(rounded(center, 4));
  out.note = "by relation, the sum of " + std::to_string(sum.members.size()) +
             " members; may be their mean, sent with its own scale";
  return out;
}

std::string hexadecimal(CanId id) {
  std::array<char, 16> text{};
  std::snprintf(text.data(), text.size(), "0x%X", id.number());
  return text.data();
}

// What equals the total while a bit is set: field = factor * total + constant.
Proposal switched(const relate::Relations& found, const relate::GatedRelation& gated,
                  const Proposal& total) {
  Proposal out = total;
  out.channel = total.channel + "_switched";
  const relate::Field& field = found.fields[gated.field];
  out.place = field.place;
  out.is_signed = field.is_signed;
  out.untested_high_bits = field.place.span.width() - field.moved_bits;
  out.chance = gated.chance;
  out.scale_fitted = total.scale_fitted / gated.factor;
  out.scale_interval = {total.scale_interval.low / gated.factor,
                        total.scale_interval.high / gated.factor};
  const double constant = gated.constant * out.scale_fitted;
  out.offset_fitted = total.offset_fitted - constant;
  out.offset_interval = {total.offset_interval.low - constant,
                         total.offset_interval.high - constant};
  const double half = (out.scale_interval.high - out.scale_interval.low) / 2;
  out.scale = roundest(out.scale_fitted, half + relate::members_gain * std::abs(out.scale_fitted));
  const bool none = total.offset == 0 && std::abs(gated.constant) <= 2;
  out.offset = none ? 0 : std::stod(rounded(total.offset - constant, 4));
  const FieldPlace& bit = found.bits[gated.bit].place;
  out.note = "by relation, equals " + total.channel + " while bit " + to_string(bit.span) + " of " +
             hexadecimal(bit.id) + (gated.while_set ? " is set" : " is clear");
  return out;
}

Proposal limit(const relate::Relations& found, const relate::ThresholdRelation& one,
               std::size_t number) {
  Proposal out;
  out.channel = "limit_" + std::to_string(number);
  out.place = found.bits[one.bit].place;
  out.states = {{0, "within"}, {1, "beyond"}};
  out.levels = static_cast<int>(one.crossings);
  out.chance = one.chance;
  const FieldPlace& field = found.fields[one.field].place;
  out.note = "by relation, set while the field " + to_string(field.span) + " of " +
             hexadecimal(field.id) + " is " + (one.above ? "above " : "below ") +
             rounded(one.sets_at, 4) + ", until " + rounded(one.clears_at, 4);
  return out;
}

void add_limits(const relate::Relations& found, Correlation& out) {
  std::size_t number = 0;
  for (const relate::ThresholdRelation& one : found.thresholds) {
    if (one.strong) out.proposals.push_back(limit(found, one, ++number));
  }
}

void add_sum(const relate::Relations& found, Correlation& out) {
  const relate::SumRelation& sum = found.sums.front();
  for (std::size_t i = 0; i < sum.members.size(); ++i) out.proposals.push_back(member(found, i));
  // What the readings sag with is not in a sum that the board makes of its cells.
  out.proposals.push_back(
      total(found, found.scale->current.empty() ? found.scale->channel : "cell_sum"));
  const Proposal whole = out.proposals.back();
  for (const relate::GatedRelation& gated : found.gated) {
    if (gated.strong && gated.of == sum.total)
      out.proposals.push_back(switched(found, gated, whole));
  }
}

}  // namespace

Correlation draft_relations(const relate::Relations& found, const SignalMap& known) {
  Correlation out;
  if (found.scale && !found.sums.empty()) add_sum(found, out);
  add_limits(found, out);
  std::erase_if(out.proposals,
                [&](const Proposal& proposal) { return is_known(proposal.place, known); });
  return out;
}

}  // namespace foundling
