#include "decoder/draft/draft_relations.h"

#include <algorithm>
#include <cmath>

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

}  // namespace

Correlation draft_relations(const relate::Relations& found, const SignalMap& known) {
  Correlation out;
  if (!found.scale || found.sums.empty()) return out;
  const relate::SumRelation& sum = found.sums.front();
  for (std::size_t i = 0; i < sum.members.size(); ++i) out.proposals.push_back(member(found, i));
  // What the readings sag with is not in a sum that the board makes of its cells.
  out.proposals.push_back(
      total(found, found.scale->current.empty() ? found.scale->channel : "cell_sum"));
  std::erase_if(out.proposals,
                [&](const Proposal& proposal) { return is_known(proposal.place, known); });
  return out;
}

}  // namespace foundling
