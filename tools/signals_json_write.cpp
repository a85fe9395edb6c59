#include <nlohmann/json.hpp>

#include "schemas/signals/encoding_words.h"
#include "schemas/signals/fact_text.h"
#include "schemas/signals/status_word.h"
#include "schemas/values/payload_id.h"
#include "schemas/values/ucum.h"
#include "tools/signals_json.h"

namespace foundling {
namespace {

using Json = nlohmann::ordered_json;

Json transport_json(const Transport& transport) {
  Json json{{"kind", "segments"}, {"address", nullptr}};
  if (transport.kind == Transport::Kind::addressed_segments) json["address"] = transport.address;
  return json;
}
Json range_json(const CodeRange& range) { return {{"first", range.first}, {"last", range.last}}; }

// The unit as a person wrote it, and its code where it has one; read back is the person's.
Json with_unit(Json json, const std::string& unit) {
  json["unit"] = unit;
  if (const auto ucum = ucum_code(unit); !ucum.empty()) json["ucum"] = ucum;
  return json;
}

Json formula_json(const IndexFormula& formula) {
  static constexpr const char* operations[] = {"whole", "div", "mod"};
  return {{"base", formula.base},
          {"from", formula.from},
          {"operation", operations[static_cast<int>(formula.operation)]},
          {"by", formula.by},
          {"times", formula.times}};
}

struct Writer {
  Json operator()(const fact::Blank& /*f*/) const { return {{"kind", "blank"}}; }
  Json operator()(const fact::Comment& f) const { return {{"kind", "comment"}, {"text", f.text}}; }
  Json operator()(const fact::Board& f) const { return {{"kind", "board"}, {"name", f.name}}; }
  Json operator()(const fact::BitRate& f) const {
    return {{"kind", f.data ? "data-bit-rate" : "bit-rate"}, {"rate", f.rate}};
  }
  Json operator()(const fact::Note& f) const { return {{"kind", "note"}, {"text", f.text}}; }
  Json operator()(const fact::MessageHead& f) const {
    Json json{{"kind", "message"}, {"identifier", f.id.number()}, {"extended", f.id.is_extended()},
              {"bus", f.bus},      {"period_ns", f.period_ns},    {"length", nullptr}};
    if (f.length) json["length"] = *f.length;
    if (is_payload(f.id)) json["transport"] = transport_json(transport_of(f.id));
    return json;
  }
  Json operator()(const Selector& f) const {
    Json values = Json::array();
    for (const CodeRange& range : f.values) values.push_back(range_json(range));
    return {
        {"kind", "selector"}, {"name", f.name}, {"span", to_string(f.span)}, {"values", values}};
  }
  Json operator()(const Counter& f) const {
    return {
        {"kind", "counter"}, {"span", to_string(f.span)}, {"modulus", f.modulus}, {"step", f.step}};
  }
  Json operator()(const Checksum& f) const {
    Json json{{"kind", "checksum"},       {"span", to_string(f.span)},
              {"method", f.kind},         {"polynomial", f.polynomial},
              {"initial", nullptr},       {"final", nullptr},
              {"reflected", f.reflected}, {"identifier", f.includes_identifier},
              {"bytes", nullptr}};
    if (f.initial) json["initial"] = *f.initial;
    if (f.final_xor) json["final"] = *f.final_xor;
    if (f.bytes) json["bytes"] = range_json(*f.bytes);
    return json;
  }
  Json operator()(const fact::SignalHead& f) const {
    return {{"kind", "signal"}, {"name", f.name}};
  }
  Json operator()(const fact::SeriesHead& f) const {
    return {{"kind", "series"},
            {"name", f.name},
            {"first", f.numbers.first},
            {"last", f.numbers.last},
            {"digits", f.numbers.digits}};
  }
  Json operator()(const PageOf& f) const {
    return {{"kind", "on"}, {"selector", f.selector}, {"value", formula_json(f.value)}};
  }
  Json operator()(const fact::Bits& f) const {
    Json json{{"kind", "bits"},
              {"span", to_string(f.span)},
              {"encoding", to_string(f.encoding)},
              {"step", nullptr}};
    if (f.words_swapped) json["swapped"] = true;
    if (f.step) json["step"] = {{"bits", formula_json(f.step->bits)}, {"big", f.step->big}};
    return json;
  }
  Json operator()(const fact::Linear& f) const {
    return with_unit({{"kind", "value"}, {"scale", f.scale}, {"offset", f.offset}}, f.unit);
  }
  Json operator()(const fact::TableHead& f) const { return with_unit({{"kind", "table"}}, f.unit); }
  Json operator()(const TablePoint& f) const {
    return {{"kind", "point"}, {"raw", f.raw}, {"value", f.value}};
  }
  Json operator()(const StateWord& f) const {
    return {{"kind", "state"}, {"code", f.code}, {"word", f.word}};
  }
  Json operator()(const ReservedCode& f) const {
    return {
        {"kind", "reserved"}, {"first", f.codes.first}, {"last", f.codes.last}, {"word", f.word}};
  }
  Json operator()(const fact::StatusLine& f) const {
    return {{"kind", "status"}, {"status", status_word(f.status)}};
  }
  Json operator()(const fact::Delay& f) const {
    return {{"kind", "delay"}, {"seconds", f.seconds}};
  }
  Json operator()(const fact::TimeConstant& f) const {
    return {{"kind", "time-constant"}, {"seconds", f.seconds}};
  }
  Json operator()(const PlaceWords& f) const {
    Json json{{"kind", "where"}, {"members", nullptr}, {"text", f.text}};
    if (f.members) json["members"] = range_json(*f.members);
    return json;
  }
  Json operator()(const Pin& f) const {
    return {{"kind", "pin"}, {"name", f.name}, {"text", f.text}};
  }
  Json operator()(const Evidence& f) const {
    return {{"kind", "seen"}, {"source", f.source}, {"session", f.session}, {"text", f.text}};
  }
};

Json lines_json(const std::vector<Node>& nodes) {
  Json lines = Json::array();
  for (const Node& node : nodes) {
    Json line = std::visit(Writer{}, node.fact);
    if (!node.comment.empty()) line["comment"] = node.comment;
    if (!node.children.empty()) line["lines"] = lines_json(node.children);
    lines.push_back(std::move(line));
  }
  return lines;
}

}  // namespace

std::string json_of(const Document& document) {
  Json json{{"format", "foundling-map"}, {"version", 1}};
  if (!document.header_comment.empty()) json["comment"] = document.header_comment;
  json["lines"] = lines_json(document.nodes);
  return json.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + '\n';
}

}  // namespace foundling
