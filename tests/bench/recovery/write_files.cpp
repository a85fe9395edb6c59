#include "tests/bench/recovery/write_files.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <tuple>

#include "tests/bench/recovery/slip_kinds.h"

namespace foundling::recovery {
namespace {

std::string seconds(std::int64_t t_ns) {
  char text[40];
  std::snprintf(text, sizeof text, "%lld.%09lld", static_cast<long long>(t_ns / 1'000'000'000),
                static_cast<long long>(t_ns % 1'000'000'000));
  return text;
}

std::string shortest(double value) {
  char text[40];
  const auto end = std::to_chars(text, text + sizeof text, value).ptr;
  return {text, end};
}

void write_frames(const RandomBoard& board, std::ostream& out) {
  std::vector<std::tuple<std::int64_t, std::size_t, std::size_t>> order;
  for (std::size_t m = 0; m < board.messages.size(); ++m) {
    for (std::size_t i = 0; i < board.messages[m].size(); ++i) {
      order.emplace_back(board.messages[m].t_ns[i], m, i);
    }
  }
  std::sort(order.begin(), order.end());
  out << "time_s,bus,identifier,extended,payload\n";
  for (const auto& [t_ns, m, i] : order) {
    const MessageSeries& message = board.messages[m];
    char text[24];
    std::snprintf(text, sizeof text, message.id.is_extended() ? ",%d,%08X,1," : ",%d,%03X,0,",
                  message.bus, message.id.number());
    out << seconds(t_ns) << text;
    for (const std::uint8_t byte : message.row(i)) {
      std::snprintf(text, sizeof text, "%02X", byte);
      out << text;
    }
    out << '\n';
  }
}

void write_stimulus(const RandomBoard& board, std::ostream& out) {
  std::vector<std::tuple<std::int64_t, std::size_t, std::size_t>> order;
  for (std::size_t c = 0; c < board.channels.size(); ++c) {
    for (std::size_t i = 0; i < board.channels[c].readings.size(); ++i) {
      order.emplace_back(board.channels[c].readings[i].t_ns, c, i);
    }
  }
  std::sort(order.begin(), order.end());
  out << "time_s,channel,unit,value,uncertainty,kind,earliest_s\n";
  for (const auto& [t_ns, c, i] : order) {
    const Channel& channel = board.channels[c].channel;
    const Reading& reading = board.channels[c].readings[i];
    out << seconds(t_ns) << ',' << channel.name << ',' << channel.unit << ','
        << (channel.is_state() ? reading.state : shortest(reading.value)) << ',';
    if (!std::isnan(reading.uncertainty)) out << shortest(reading.uncertainty);
    out << (channel.kind == ChannelKind::hold ? ",hold," : ",sample,");
    if (reading.earliest_ns != Reading::no_time) out << seconds(reading.earliest_ns);
    out << '\n';
  }
}

using Json = nlohmann::ordered_json;

Json field_json(const TrueField& f) {
  Json json{{"quantity", f.quantity},
            {"bus", f.bus},
            {"identifier", f.id.number()},
            {"extended", f.id.is_extended()},
            {"selector", nullptr},
            {"span", to_string(f.span)},
            {"signed", f.is_signed},
            {"float", f.is_float},
            {"scale", f.scale},
            {"offset", f.offset},
            {"line_scale", f.line_scale},
            {"line_offset", f.line_offset},
            {"delay_s", f.delay_s},
            {"time_constant_s", f.time_constant_s},
            {"noise", f.noise},
            {"moved", f.moved},
            {"ordinary_from_s", f.ordinary_from_s},
            {"substituted_s", Json::array()}};
  for (const Window& window : f.substituted) {
    json["substituted_s"].push_back({window.from_s, window.until_s});
  }
  if (f.page) json["selector"] = {{"span", to_string(f.page->span)}, {"value", f.page->value}};
  for (const auto& [code, word] : f.states) json["states"][std::to_string(code)] = word;
  return json;
}

Json message_json(const TrueMessage& message) {
  Json json{{"bus", message.bus},
            {"identifier", message.id.number()},
            {"extended", message.id.is_extended()},
            {"counters", Json::array()},
            {"checksums", Json::array()},
            {"selectors", Json::array()}};
  for (const TrueCounter& c : message.counters) {
    json["counters"].push_back(
        {{"span", to_string(c.span)}, {"step", c.step}, {"modulus", c.modulus}});
  }
  for (const TrueChecksum& c : message.checksums) {
    json["checksums"].push_back(
        {{"span", to_string(c.span)}, {"kind", c.kind}, {"polynomial", c.polynomial}});
  }
  for (const TrueSelector& s : message.selectors) {
    json["selectors"].push_back({{"span", to_string(s.span)}, {"values", s.values}});
  }
  return json;
}

Json truth_json(const Truth& truth) {
  Json json{{"format", "foundling-truth"}, {"version", 1}, {"invented", true}};
  json["channels"] = json["computed"] = json["others"] = json["messages"] = Json::array();
  for (const TrueChannel& channel : truth.channels) {
    Json one{{"name", channel.name},     {"excited", channel.excited},
             {"levels", channel.levels}, {"clock_offset_s", channel.clock_offset_s},
             {"fields", Json::array()},  {"slips", Json::array()}};
    for (const TrueSlip& slip : channel.slips) {
      one["slips"].push_back({{"reading", slip.reading}, {"kind", word_of(slip.kind)}});
    }
    for (const TrueField& field : channel.fields) one["fields"].push_back(field_json(field));
    json["channels"].push_back(one);
  }
  json["confounded"] = truth.confounded;
  for (const TrueField& field : truth.computed) json["computed"].push_back(field_json(field));
  for (const TrueField& field : truth.others) json["others"].push_back(field_json(field));
  for (const TrueMessage& message : truth.messages)
    json["messages"].push_back(message_json(message));
  return json;
}

}  // namespace

Result<void> write_board(const RandomBoard& board, const std::filesystem::path& folder) {
  std::error_code failure;
  std::filesystem::create_directories(folder, failure);
  if (failure) return Error{ErrorCode::io, folder.string() + ": " + failure.message()};
  for (const char* name : {"frames.csv", "stimulus.csv", "truth.json"}) {
    std::ofstream out(folder / name, std::ios::binary);
    if (name[0] == 'f') write_frames(board, out);
    if (name[0] == 's') write_stimulus(board, out);
    if (name[0] == 't') out << truth_json(board.truth).dump(1) << '\n';
    out.flush();
    if (!out) return Error{ErrorCode::io, (folder / name).string() + ": cannot be written"};
  }
  return {};
}

}  // namespace foundling::recovery
