// Every signal of the map: its place and figures, its values over time, and how it answers.
#include <algorithm>
#include <nlohmann/json.hpp>
#include <optional>

#include "decoder/analysis/derived_channels.h"
#include "decoder/analysis/in_parallel.h"
#include "decoder/report/figures.h"
#include "decoder/report/page/page_pieces.h"
#include "decoder/report/page/signal_sheet.h"
#include "decoder/report/proposals_report.h"
#include "schemas/signals/encoding_words.h"
#include "schemas/signals/status_word.h"
#include "schemas/signals/where.h"

namespace foundling::page {
namespace {

std::string type_of(const SignalEntry& entry) {
  if (!entry.states.empty()) return "state";
  if (!entry.table.empty()) return "table";
  return to_string(entry.encoding) + (entry.words_swapped ? " swapped" : "");
}

FieldPlace place_of(const MessageEntry& message, const Field& field) {
  FieldPlace place{message.bus, message.id, {}, field.span};
  if (field.page) place.page = Page{field.page->selector, field.page->value};
  return place;
}

bool same_place(const FieldPlace& a, const FieldPlace& b) {
  return a.bus == b.bus && a.id == b.id && a.page == b.page && a.span == b.span;
}

Json interval_json(const Interval& interval) { return Json::array({interval.low, interval.high}); }

Json proposal_json(const Proposal& p, const FieldPlace& place) {
  Json json{{"verdict", foundling::to_string(p.verdict)},
            {"same_place", same_place(p.place, place)},
            {"place", place_text(p.place, false)},
            {"derived", p.derived},
            {"inferred", p.inferred},
            {"scale", p.scale_fitted},
            {"offset", p.offset_fitted},
            {"scale_interval", interval_json(p.scale_interval)},
            {"offset_interval", interval_json(p.offset_interval)},
            {"delay_s", figure_json(p.delay_s)},
            {"time_constant_s", figure_json(p.time_constant_s)},
            {"residual_rms", figure_json(p.residual_rms)},
            {"levels", p.levels},
            {"chance", figure_json(p.chance)},
            {"untested", p.untested_high_bits},
            {"note", p.note},
            {"ambiguous_with", p.ambiguous_with}};
  json["same_as"] = Json::array();
  for (const FieldPlace& other : p.same_as) json["same_as"].push_back(place_text(other, false));
  return json;
}

void add_proposals(Json& json, const PageInput& input, const Field& field,
                   const FieldPlace& place) {
  json["others"] = Json::array();
  if (input.correlation == nullptr) return;
  for (const Proposal& p : input.correlation->proposals) {
    if (!same_name(p.channel, field.name)) continue;
    if (p.rank == 1) {
      json["proposal"] = proposal_json(p, place);
    } else {
      json["others"].push_back({{"place", place_text(p.place, false)},
                                {"verdict", foundling::to_string(p.verdict)},
                                {"note", p.note}});
    }
  }
}

void add_comparison(Json& json, const SignalSheet& sheet) {
  if (sheet.channel.empty()) return;
  Json applied = Json::array();
  Json shown = Json::array();
  for (const AppliedPoint& p : sheet.points) {
    applied.push_back(figure_json(p.applied));
    shown.push_back(figure_json(p.shown));
  }
  json["compared"] = {{"channel", sheet.channel},
                      {"sampled", sheet.sampled},
                      {"delay_s", figure_json(sheet.delay_s)},
                      {"points", sheet.compared},
                      {"possible", sheet.possible},
                      {"all_drawn", sheet.points.size() == sheet.compared},
                      {"rms", figure_json(sheet.rms)},
                      {"applied", std::move(applied)},
                      {"shown", std::move(shown)}};
}

Json facts_json(const PageInput& input, const Field& field) {
  const MessageEntry& message = input.map->messages[field.message];
  const SignalEntry& entry = message.signals[field.entry];
  const FieldPlace place = place_of(message, field);
  Json json{{"name", field.name},
            {"series", field.number ? entry.name : std::string()},
            {"unit", entry.unit},
            {"bus", message.bus},
            {"id", identifier_text(message.id)},
            {"place", place_text(place, false)},
            {"width", field.span.width()},
            {"type", type_of(entry)},
            {"scale", entry.scale},
            {"offset", entry.offset},
            {"status", status_word(entry.status)},
            {"delay_s", figure_json(entry.delay_s)},
            {"time_constant_s", figure_json(entry.time_constant_s)},
            {"where", where_of(entry, field.number.value_or(0))},
            {"notes", entry.notes}};
  if (!entry.states.empty()) {
    json["words"] = Json::array();
    for (const StateWord& state : entry.states) {
      json["words"].push_back({{"code", state.code}, {"word", state.word}});
    }
  }
  add_proposals(json, input, field, place);
  return json;
}

// The bench's channels, and those that follow from them: a board sends sums and extremes as well.
std::vector<ChannelSeries> all_channels(const PageInput& input) {
  std::vector<ChannelSeries> all(input.channels.begin(), input.channels.end());
  for (ChannelSeries& derived : derive_channels(input.channels, input.source.to_ns)) {
    all.push_back(std::move(derived));
  }
  return all;
}

}  // namespace

Section signals_section(const PageInput& input, const std::vector<Field>& fields,
                        const Grid& grid) {
  const std::vector<ChannelSeries> channels = all_channels(input);
  std::vector<std::optional<SignalSheet>> sheets(fields.size());
  in_parallel(fields.size(), [&](std::size_t i) {
    sheets[i] = sheet_of(*input.map, fields[i], input.messages, channels, grid);
  });
  Section section;
  for (std::size_t i = 0; i < fields.size(); ++i) {
    const Field& field = fields[i];
    SignalSheet& sheet = *sheets[i];
    const SignalEntry& entry = input.map->messages[field.message].signals[field.entry];
    Json json = facts_json(input, field);
    json["frames"] = sheet.frames;
    json["reserved"] = sheet.reserved;
    add_comparison(json, sheet);
    section.json.push_back(std::move(json));
    Drawn drawn(0);
    drawn.values = std::move(sheet.values);
    const bool whole_steps = entry.table.empty() && entry.encoding != Encoding::ieee_float;
    const bool state = !entry.states.empty();
    drawn.base = whole_steps && !state ? entry.offset : 0;
    drawn.step = state ? 1 : whole_steps ? entry.scale : 0;
    section.drawn.push_back(std::move(drawn));
  }
  return section;
}

}  // namespace foundling::page
