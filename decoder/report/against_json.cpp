#include <cmath>
#include <nlohmann/json.hpp>

#include "decoder/report/against_report.h"

namespace foundling {
namespace {

using Json = nlohmann::ordered_json;

Json number(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }

Json source_json(const SurveySource& source) {
  return {{"capture", source.capture},
          {"session", source.session},
          {"bit_rate", source.bit_rate},
          {"duration_s", source.duration_s}};
}

Json page_json(const std::optional<PagePlace>& page) {
  if (!page) return nullptr;
  return {{"span", to_string(page->span)}, {"value", page->value}};
}

Json difference_json(const Difference& d) {
  return {{"kind", kind_word(d.kind)},
          {"side", d.side == Side::a ? "a" : "b"},
          {"bus", d.bus},
          {"identifier", d.id ? Json(d.id->number()) : Json(nullptr)},
          {"extended", d.id ? Json(d.id->is_extended()) : Json(nullptr)},
          {"selector", page_json(d.page)},
          {"span", d.span ? Json(to_string(*d.span)) : Json(nullptr)},
          {"a", number(d.a)},
          {"b", number(d.b)},
          {"a_form", d.a_form},
          {"b_form", d.b_form},
          {"from_s", number(d.from_s)},
          {"to_s", number(d.to_s)},
          {"chance", d.chance},
          {"words", difference_words(d)}};
}

}  // namespace

std::string against_json(const Against& against, const AgainstSource& source) {
  Json json{{"format", "foundling-against"}, {"version", 1},
            {"a", source_json(source.a)},    {"b", source_json(source.b)},
            {"messages", against.messages},  {"alike", against.alike},
            {"too_few", against.too_few},    {"comparisons", against.comparisons}};
  json["differences"] = Json::array();
  for (const Difference& d : against.differences) {
    json["differences"].push_back(difference_json(d));
  }
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + '\n';
}

}  // namespace foundling
