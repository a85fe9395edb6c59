// The members of "foundling-proposals" (schemas/proposals.schema.json), once for writing and for
// reading: each is named beside the struct's member that it stands for. A Form is told of all of
// them in the order of the file; one that writes gets const structs. For this folder's own sources
// only.
//
//   required(name, member), later(name, member): later ones may be missing in files that an older
//     program wrote, and are then as the struct has them by default
//   required(name, member, limits): numbers, with the ends that a reader holds them to
//   value_or_word(name, number, word, is_word): one of both
//   correction(name, reading): the line that would put a reading right, made anew at every writing
//   follows(name, value): says again what follows from other members, for whoever reads the file
//   ucum(unit): the same for a unit's code (schemas/values/ucum.h), left out where it has none
#pragma once

#include <limits>

#include "decoder/analysis/proposal.h"
#include "decoder/report/json_members.h"
#include "decoder/report/unfit_reading.h"

namespace foundling::proposals {

inline constexpr const char* format_name = "foundling-proposals";
inline constexpr int format_version = 1;

inline constexpr NumberLimits any_size{0, std::numeric_limits<double>::infinity()};
inline constexpr NumberLimits any_count{0, std::numeric_limits<int>::max()};
inline constexpr NumberLimits from_one{1, std::numeric_limits<int>::max()};

template <class Form, class PageType>
void page_members(Form& form, PageType& page) {
  form.required("span", page.span);
  form.required("value", page.value);
}

template <class Form, class Place>
void place_members(Form& form, Place& place) {
  form.required("bus", place.bus);
  form.required("identifier", "extended", place.id);
  form.transport("transport", place.id);
  form.required("selector", place.page);
  form.required("span", place.span);
}

template <class Form, class Point>
void point_members(Form& form, Point& point) {
  form.required("raw", point.raw);
  form.required("value", point.value);
  form.number_or_null("uncertainty", point.uncertainty);  // none of a point that was not measured
}

template <class Form, class ProposalType>
void proposal_members(Form& form, ProposalType& p) {
  form.required("channel", p.channel);
  form.required("unit", p.unit);
  form.ucum(p.unit);
  form.required("derived", p.derived);
  place_members(form, p.place);
  form.follows("width", p.place.span.width());
  form.follows("byte_order", to_string(p.place.span.order()));
  form.required("signed", p.is_signed);
  form.later("float", p.is_float);
  form.later("coding", p.other_coding);
  form.required("scale", p.scale);
  form.required("offset", p.offset);
  form.required("scale_fitted", p.scale_fitted);
  form.required("offset_fitted", p.offset_fitted);
  form.required("scale_interval", p.scale_interval);
  form.required("offset_interval", p.offset_interval);
  form.required("delay_s", p.delay_s);
  form.required("time_constant_s", p.time_constant_s, any_size);
  form.required("residual_rms", p.residual_rms, any_size);
  form.required("levels", p.levels, any_count);
  form.required("chance", p.chance, NumberLimits{0, 1});
  form.later("chance_by_plan", p.chance_by_plan);
  form.required("untested_high_bits", p.untested_high_bits, any_count);
  form.later("reserved", p.reserved);
  form.later("startup_codes", p.startup_codes);
  form.required("verdict", p.verdict);
  form.required("rank", p.rank, from_one);
  form.required("states", p.states);
  form.later("table", p.table);
  form.required("same_as", p.same_as);
  form.later("ambiguous_with", p.ambiguous_with);
  form.later("inferred", p.inferred);
  form.later("note", p.note);
}

template <class Form, class Nearest>
void nearest_members(Form& form, Nearest& nearest) {
  place_members(form, nearest.place);
  form.required("levels", nearest.levels, any_count);
  form.required("agree", nearest.agree, any_count);
}

template <class Form, class UnansweredType>
void unanswered_members(Form& form, UnansweredType& channel) {
  form.required("channel", channel.channel);
  form.required("reason", channel.reason);
  form.required("nearest", channel.nearest);
  form.required("advice", channel.advice);
}

template <class Form, class Reading>
void unfit_members(Form& form, Reading& reading) {
  form.required("reading", reading.reading);
  form.required("channel", reading.channel);
  form.required("unit", reading.unit);
  form.ucum(reading.unit);
  form.seconds("t_s", reading.t_ns);
  const bool word = is_state(reading);
  form.value_or_word("value", reading.value, reading.state, word);
  form.value_or_word("expected", reading.expected, reading.expected_state, word);
  form.required("kind", reading.kind);
  form.correction("correct", reading);
}

template <class Form, class Plan>
void plan_members(Form& form, Plan& plan) {
  form.required("name", plan.name);
  form.required("seed", plan.seed);
  form.required("draws", plan.draws, from_one);
}

template <class Form, class Source>
void source_members(Form& form, Source& source) {
  form.required("capture", source.capture);
  form.required("session", source.session);
  form.required("frames", source.frames);
  form.required("readings", source.readings);
}

template <class Form, class CorrelationType>
void correlation_members(Form& form, CorrelationType& correlation) {
  form.later("source", correlation.source);
  form.required("proposals", correlation.proposals);
  form.later("unanswered", correlation.unanswered);
  form.later("unfit_readings", correlation.unfit_readings);
  form.required("advice", correlation.advice);
  form.later("plan", correlation.plan);
  form.required("seconds", correlation.seconds, any_size);
}

}  // namespace foundling::proposals
