#include <nlohmann/json.hpp>
#include <set>

#include "decoder/report/bus_load.h"
#include "decoder/report/survey_report.h"
#include "decoder/transport/answer_codes.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

using Json = nlohmann::ordered_json;

Json optional_number(const std::optional<std::uint64_t>& value) {
  return value ? Json(*value) : Json(nullptr);
}

Json checksum_json(const ChecksumFinding& c) {
  return {{"span", to_string(c.span)},
          {"kind", c.kind},
          {"polynomial", c.polynomial},
          {"initial", optional_number(c.initial)},
          {"final_xor", optional_number(c.final_xor)},
          {"reflected", c.reflected},
          {"first_byte", c.first_byte},
          {"last_byte", c.last_byte},
          {"includes_identifier", c.includes_identifier},
          {"name", c.name},
          {"note", c.note}};
}

Json transport_json(const Transport& transport) {
  Json json{{"kind", "segments"}, {"address", nullptr}};
  if (transport.kind == Transport::Kind::addressed_segments) json["address"] = transport.address;
  return json;
}

Json carried_json(const SegmentCounts& c) {
  return {{"single", c.single},
          {"segmented", c.segmented},
          {"segment_missing", c.out_of_order},
          {"segment_repeated", c.repeated},
          {"segment_late", c.late},
          {"cut_short", c.cut_short},
          {"too_long", c.too_long}};
}

Json conversation_json(const Conversation& c) {
  Json json{
      {"bus", c.bus},
      {"asks", {{"identifier", c.asks.number()}, {"extended", c.asks.is_extended()}}},
      {"replies", {{"identifier", c.replies.number()}, {"extended", c.replies.is_extended()}}},
      {"requests", c.requests},
      {"period_s", c.period_s},
      {"answered", c.answered},
      {"unanswered", c.unanswered},
      {"refused", Json::array()}};
  for (const auto& [code, times] : c.refused) {
    json["refused"].push_back(
        {{"code", code}, {"meaning", answer_code_words(code)}, {"times", times}});
  }
  return json;
}

Json message_json(const MessageSurvey& m, const Talk& talk) {
  Json json{{"bus", m.bus},
            {"identifier", m.id.number()},
            {"extended", m.id.is_extended()},
            {"frames", m.frames},
            {"period_s", m.period_s},
            {"mean_period_s", m.mean_period_s},
            {"jitter_s", m.jitter_s},
            {"in_bursts", m.in_bursts},
            {"event_driven", m.event_driven},
            {"length", m.length},
            {"length_varies", m.length_varies},
            {"segmented_transport", m.segmented_transport}};
  if (is_payload(m.id)) json["transport"] = transport_json(transport_of(m.id));
  if (const SegmentCounts* carried = talk.carried_by(m.bus, m.id)) {
    json["payloads"] = carried_json(*carried);
  }
  json["constant_bits"] = Json::array();
  for (const Span& span : m.constant_bits) json["constant_bits"].push_back(to_string(span));
  json["counters"] = Json::array();
  for (const CounterFinding& c : m.counters) {
    json["counters"].push_back(
        {{"span", to_string(c.span)}, {"step", c.step}, {"modulus", c.modulus}});
  }
  json["checksums"] = Json::array();
  for (const ChecksumFinding& c : m.checksums) json["checksums"].push_back(checksum_json(c));
  json["copies"] = Json::array();
  for (const CopyFinding& c : m.copies) {
    json["copies"].push_back({{"first", to_string(c.first)}, {"second", to_string(c.second)}});
  }
  json["selectors"] = Json::array();
  for (const SelectorFinding& s : m.selectors) {
    json["selectors"].push_back({{"span", to_string(s.span)}, {"values", s.values}});
  }
  return json;
}

Json loads_json(const Survey& survey, const SurveySource& source) {
  std::set<std::uint8_t> buses;
  for (const MessageSurvey& m : survey.messages) buses.insert(m.bus);
  Json loads = Json::array();
  for (const std::uint8_t bus : buses) {
    const auto load = bus_load(survey, bus, source.duration_s, source.bit_rate);
    if (!load) continue;
    loads.push_back({{"bus", bus},
                     {"least", load->least},
                     {"most", load->most},
                     {"fd_left_out", load->without_fd}});
  }
  return loads;
}

}  // namespace

std::string survey_json(const Survey& survey, const SurveySource& source, const Talk& talk) {
  Json json{{"format", "foundling-survey"},
            {"version", 1},
            {"capture", source.capture},
            {"session", source.session},
            {"bit_rate", source.bit_rate},
            {"duration_s", source.duration_s},
            {"bus_load", loads_json(survey, source)}};
  json["messages"] = Json::array();
  for (const MessageSurvey& m : survey.messages) json["messages"].push_back(message_json(m, talk));
  json["conversations"] = Json::array();
  for (const Conversation& c : talk.conversations) {
    json["conversations"].push_back(conversation_json(c));
  }
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + '\n';
}

}  // namespace foundling
