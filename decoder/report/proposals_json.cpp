#include <cmath>
#include <nlohmann/json.hpp>

#include "decoder/report/proposals_report.h"

namespace foundling {
namespace {

using Json = nlohmann::ordered_json;

Json selector_json(const FieldPlace& place) {
  if (!place.page) return nullptr;
  return {{"span", to_string(place.page->span)}, {"value", place.page->value}};
}

Json place_json(const FieldPlace& place) {
  return {{"bus", place.bus},
          {"identifier", place.id.number()},
          {"extended", place.id.is_extended()},
          {"selector", selector_json(place)},
          {"span", to_string(place.span)}};
}

Json interval_json(const Interval& interval) { return Json::array({interval.low, interval.high}); }

Json states_json(const Proposal& p) {
  if (p.states.empty()) return nullptr;
  Json states = Json::object();
  for (const auto& [code, word] : p.states) states[std::to_string(code)] = word;
  return states;
}

// A point that was not measured has no uncertainty.
Json table_json(const Proposal& p) {
  if (p.table.empty()) return nullptr;
  Json table = Json::array();
  for (const CurvePoint& point : p.table) {
    table.push_back({{"raw", point.raw}, {"value", point.value}, {"uncertainty", nullptr}});
    if (!std::isnan(point.uncertainty)) table.back()["uncertainty"] = point.uncertainty;
  }
  return table;
}

Json proposal_json(const Proposal& p) {
  Json json{{"channel", p.channel}, {"unit", p.unit}, {"derived", p.derived}};
  json.update(place_json(p.place));
  json.update({{"width", p.place.span.width()},
               {"byte_order", to_string(p.place.span.order())},
               {"signed", p.is_signed},
               {"float", p.is_float},
               {"scale", p.scale},
               {"offset", p.offset},
               {"scale_fitted", p.scale_fitted},
               {"offset_fitted", p.offset_fitted},
               {"scale_interval", interval_json(p.scale_interval)},
               {"offset_interval", interval_json(p.offset_interval)},
               {"delay_s", p.delay_s},
               {"time_constant_s", p.time_constant_s},
               {"residual_rms", p.residual_rms},
               {"levels", p.levels},
               {"chance", p.chance},
               {"chance_by_plan", p.chance_by_plan},
               {"untested_high_bits", p.untested_high_bits},
               {"reserved", p.reserved},
               {"verdict", to_string(p.verdict)},
               {"rank", p.rank},
               {"states", states_json(p)},
               {"table", table_json(p)}});
  json["same_as"] = Json::array();
  for (const FieldPlace& place : p.same_as) json["same_as"].push_back(place_json(place));
  json["ambiguous_with"] = p.ambiguous_with;
  json["inferred"] = p.inferred;
  json["note"] = p.note;
  return json;
}

}  // namespace

std::string proposals_json(const Correlation& correlation) {
  Json json{{"format", "foundling-proposals"}, {"version", 1}};
  json["proposals"] = Json::array();
  for (const Proposal& p : correlation.proposals) json["proposals"].push_back(proposal_json(p));
  json["advice"] = correlation.advice;
  json["plan"] = nullptr;
  if (correlation.plan) {
    json["plan"] = {{"name", correlation.plan->name},
                    {"seed", correlation.plan->seed},
                    {"draws", correlation.plan->draws}};
  }
  json["seconds"] = correlation.seconds;
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + '\n';
}

}  // namespace foundling
