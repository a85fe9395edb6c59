#include <cmath>
#include <nlohmann/json.hpp>

#include "decoder/report/relations_report.h"
#include "schemas/values/ucum.h"

namespace foundling {
namespace {

using Json = nlohmann::ordered_json;
using relate::Relations;
using relate::SumRelation;

Json number(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }

Json interval(const Interval& i) { return Json::array({number(i.low), number(i.high)}); }

Json place_json(const FieldPlace& place, bool is_signed) {
  Json selector = nullptr;
  if (place.page) {
    selector = Json{{"span", to_string(place.page->span)}, {"value", place.page->value}};
  }
  return {{"bus", place.bus},
          {"identifier", place.id.number()},
          {"extended", place.id.is_extended()},
          {"selector", std::move(selector)},
          {"span", to_string(place.span)},
          {"signed", is_signed}};
}

Json place_json(const relate::Field& field) { return place_json(field.place, field.is_signed); }

Json places_json(const Relations& found, const std::vector<std::size_t>& fields) {
  Json out = Json::array();
  for (const std::size_t f : fields) out.push_back(place_json(found.fields[f]));
  return out;
}

Json sum_json(const Relations& found, const SumRelation& sum) {
  return {{"kind", "sum"},
          {"verdict", sum.strong ? "strong" : "weak"},
          {"field", place_json(found.fields[sum.total])},
          {"members", places_json(found, sum.members)},
          {"shown", places_json(found, sum.shown)},
          {"factor", number(sum.factor)},
          {"factor_deviation", number(sum.factor_deviation)},
          {"constant", number(sum.constant)},
          {"explained", number(sum.r2)},
          {"covered", number(sum.covered)},
          {"steps", sum.steps},
          {"chance", number(sum.chance)}};
}

const char* word_of(relate::ExtremeKind kind) {
  switch (kind) {
    case relate::ExtremeKind::lowest:
      return "lowest";
    case relate::ExtremeKind::highest:
      return "highest";
    case relate::ExtremeKind::spread:
      return "spread";
    case relate::ExtremeKind::number_of_lowest:
      return "number-of-lowest";
    case relate::ExtremeKind::number_of_highest:
      break;
  }
  return "number-of-highest";
}

const char* word_of(relate::PairKind kind) {
  switch (kind) {
    case relate::PairKind::copy:
      return "copy";
    case relate::PairKind::alike:
      return "alike";
    case relate::PairKind::product:
      return "product";
    case relate::PairKind::integral:
      break;
  }
  return "integral";
}

Json extreme_json(const Relations& found, const relate::ExtremeRelation& one) {
  return {{"kind", word_of(one.kind)},
          {"verdict", one.strong ? "strong" : "weak"},
          {"field", place_json(found.fields[one.field])},
          {"members", places_json(found, found.extremes_of)},
          {"factor", number(one.factor)},
          {"constant", number(one.constant)},
          {"explained", number(one.r2)},
          {"steps", one.steps},
          {"chance", number(one.chance)}};
}

Json pair_json(const Relations& found, const relate::PairRelation& one) {
  std::vector<std::size_t> members{one.of};
  if (one.kind == relate::PairKind::product) members.push_back(one.other);
  return {{"kind", word_of(one.kind)},
          {"verdict", one.strong ? "strong" : "weak"},
          {"field", place_json(found.fields[one.field])},
          {"members", places_json(found, members)},
          {"factor", number(one.factor)},
          {"constant", nullptr},
          {"delay_s", number(one.delay_s)},
          {"explained", number(one.r2)},
          {"steps", one.steps},
          {"chance", number(one.chance)}};
}

Json bits_json(const Relations& found, const std::vector<std::size_t>& bits) {
  Json out = Json::array();
  for (const std::size_t bit : bits) out.push_back(place_json(found.bits[bit].place, false));
  return out;
}

Json gated_json(const Relations& found, const relate::GatedRelation& one) {
  return {{"kind", "gated"},
          {"verdict", one.strong ? "strong" : "weak"},
          {"field", place_json(found.fields[one.field])},
          {"members", places_json(found, {one.of})},
          {"bit", place_json(found.bits[one.bit].place, false)},
          {"while_set", one.while_set},
          {"same_bits", bits_json(found, one.same_bits)},
          {"turns", one.turns},
          {"factor", number(one.factor)},
          {"constant", number(one.constant)},
          {"explained", number(one.r2)},
          {"steps", one.steps},
          {"chance", number(one.chance)}};
}

Json threshold_json(const Relations& found, const relate::ThresholdRelation& one) {
  return {{"kind", "threshold"},
          {"verdict", one.strong ? "strong" : "weak"},
          {"field", place_json(found.bits[one.bit].place, false)},
          {"members", places_json(found, {one.field})},
          {"above", one.above},
          {"sets_at", number(one.sets_at)},
          {"clears_at", number(one.clears_at)},
          {"crossings", one.crossings},
          {"others", one.others},
          {"delay_s", number(one.delay_s)},
          {"factor", nullptr},
          {"constant", nullptr},
          {"explained", nullptr},
          {"chance", number(one.chance)}};
}

Json scale_json(const relate::SumScale& scale) {
  Json json{{"channel", scale.channel}, {"unit", scale.unit}};
  if (const auto ucum = ucum_code(scale.unit); !ucum.empty()) json["ucum"] = ucum;
  json.update({{"readings", scale.readings},
               {"left_out", scale.left_out},
               {"scale", number(scale.scale)},
               {"offset", number(scale.offset)},
               {"scale_fitted", number(scale.scale_fitted)},
               {"offset_fitted", number(scale.offset_fitted)},
               {"scale_interval", interval(scale.scale_interval)},
               {"offset_interval", interval(scale.offset_interval)},
               {"member_interval", interval(scale.member_interval)},
               {"lag_s", number(scale.lag_s)},
               {"residual_rms", number(scale.residual_rms)},
               {"current", scale.current.empty() ? Json(nullptr) : Json(scale.current)},
               {"resistance", number(scale.resistance)}});
  return json;
}

}  // namespace

std::string relations_json(const Relations& found, const RelationsSource& source) {
  Json json{{"format", "foundling-relations"}, {"version", 1},
            {"capture", source.capture},       {"session", source.session},
            {"duration_s", found.seconds},     {"fields", found.moved()}};
  json["relations"] = Json::array();
  for (const SumRelation& sum : found.sums) json["relations"].push_back(sum_json(found, sum));
  for (const auto& one : found.extremes) json["relations"].push_back(extreme_json(found, one));
  for (const auto& one : found.pairs) json["relations"].push_back(pair_json(found, one));
  for (const auto& one : found.gated) json["relations"].push_back(gated_json(found, one));
  for (const auto& one : found.thresholds) json["relations"].push_back(threshold_json(found, one));
  json["scale"] = found.scale ? scale_json(*found.scale) : Json(nullptr);
  json["map"] = nullptr;
  if (!source.map.empty()) {
    json["map"] = {{"file", source.map},
                   {"checked", source.doubts.has_sum && source.doubts.compared > 0},
                   {"compared", source.doubts.compared},
                   {"missing", source.doubts.missing},
                   {"contradictions", source.doubts.doubts}};
  }
  json["advice"] = relations_advice(found, source);
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + '\n';
}

}  // namespace foundling
