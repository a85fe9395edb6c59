// What the search could not tell apart, what to do next, and what a check said.
#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "decoder/report/figures.h"
#include "decoder/report/open_text.h"
#include "decoder/report/page/page_pieces.h"
#include "decoder/report/proposals_report.h"
#include "decoder/report/unfit_reading.h"

namespace foundling::page {
namespace {

// Every set of channels that moved together, once.
Json ambiguous_json(const Correlation& correlation) {
  std::set<std::set<std::string>> sets;
  for (const Proposal& p : correlation.proposals) {
    if (p.ambiguous_with.empty()) continue;
    std::set<std::string> names(p.ambiguous_with.begin(), p.ambiguous_with.end());
    names.insert(p.channel);
    sets.insert(std::move(names));
  }
  return sets;
}

bool in_map(const std::vector<Field>& fields, const std::string& channel) {
  return std::ranges::any_of(fields, [&](const Field& f) { return same_name(f.name, channel); });
}

// The channels without a strong answer. Of one that the proposals do not speak of, since an older
// program wrote them, the name alone.
Json unanswered_json(const PageInput& input) {
  Json json = Json::array();
  for (const Unanswered& channel : input.correlation->unanswered) {
    json.push_back({{"channel", channel.channel},
                    {"reason", channel.reason},
                    {"nearest", channel.nearest ? nearest_words(*channel.nearest, false) : ""},
                    {"advice", channel.advice}});
  }
  for (const ChannelSeries& channel : input.channels) {
    const std::string& name = channel.channel.name;
    const auto is_it = [&name](const auto& other) { return other.channel == name; };
    if (std::ranges::none_of(input.correlation->proposals, is_it) &&
        std::ranges::none_of(input.correlation->unanswered, is_it)) {
      json.push_back({{"channel", name}, {"reason", ""}, {"nearest", ""}, {"advice", ""}});
    }
  }
  return json;
}

Json unfit_json(const PageInput& input) {
  const ReadingsOf readings{input.source.capture, input.source.session};
  Json json = Json::array();
  for (const UnfitReading& reading : input.correlation->unfit_readings) {
    json.push_back(
        {{"words", unfit_words(reading)}, {"correct", correction_line(reading, readings)}});
  }
  return json;
}

// Strong answers that hold only without some of their readings.
Json without_json(const Correlation& correlation) {
  Json json = Json::array();
  for (const Proposal& p : correlation.proposals) {
    if (p.rank != 1 || p.verdict != Verdict::strong) continue;
    const std::string words = left_out_words(correlation, p);
    if (!words.empty()) json.push_back(words);
  }
  return json;
}

}  // namespace

Json findings_json(const PageInput& input) {
  Json json{{"ambiguous", Json::array()},  {"advice", Json::array()}, {"not_in_map", Json::array()},
            {"unanswered", Json::array()}, {"unfit", Json::array()},  {"without", Json::array()}};
  if (input.correlation == nullptr) return json;
  const Correlation& found = *input.correlation;
  json["ambiguous"] = ambiguous_json(found);
  json["advice"] = found.advice;
  const std::vector<Field> fields = fields_of(*input.map);
  for (const Proposal& p : found.proposals) {
    if (p.rank != 1 || in_map(fields, p.channel)) continue;
    json["not_in_map"].push_back({{"name", p.channel},
                                  {"place", place_text(p.place, false)},
                                  {"verdict", foundling::to_string(p.verdict)}});
  }
  json["unanswered"] = unanswered_json(input);
  json["unfit"] = unfit_json(input);
  json["without"] = without_json(found);
  return json;
}

Json check_json(const PageCheck& held) {
  Json json{{"capture", held.capture},
            {"session", held.session},
            {"same_session", held.same_session},
            {"signals_unchecked", held.check.signals_unchecked},
            {"channels_unchecked", held.check.channels_unchecked}};
  json["signals"] = Json::array();
  for (const SignalCheck& s : held.check.signals) {
    json["signals"].push_back({{"signal", s.signal},
                               {"unit", s.unit},
                               {"state", s.is_state},
                               {"samples", s.samples},
                               {"coverage", figure_json(s.coverage)},
                               {"bias", figure_json(s.bias)},
                               {"gain", figure_json(s.gain)},
                               {"gain_error", figure_json(s.gain_error)},
                               {"rms", figure_json(s.rms)},
                               {"largest", figure_json(s.largest)},
                               {"delay_s", figure_json(s.delay_s)},
                               {"tolerance", figure_json(s.tolerance)},
                               {"deciding", figure_json(s.deciding)},
                               {"pass", s.pass},
                               {"tested", s.tested},
                               {"unfit", s.misfits.size()},
                               {"reason", s.reason}});
  }
  return json;
}

}  // namespace foundling::page
