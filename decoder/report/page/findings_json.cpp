// What the search could not tell apart, what to do next, and what a check said.
#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "decoder/report/figures.h"
#include "decoder/report/page/page_pieces.h"
#include "decoder/report/proposals_report.h"

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

}  // namespace

Json findings_json(const PageInput& input) {
  Json json{{"ambiguous", Json::array()},
            {"advice", Json::array()},
            {"not_in_map", Json::array()},
            {"unanswered", Json::array()}};
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
  for (const ChannelSeries& channel : input.channels) {
    const auto answers = [&](const Proposal& p) { return p.channel == channel.channel.name; };
    if (std::ranges::none_of(found.proposals, answers)) {
      json["unanswered"].push_back(channel.channel.name);
    }
  }
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
                               {"rms", figure_json(s.rms)},
                               {"largest", figure_json(s.largest)},
                               {"delay_s", figure_json(s.delay_s)},
                               {"tolerance", figure_json(s.tolerance)},
                               {"pass", s.pass},
                               {"reason", s.reason}});
  }
  return json;
}

}  // namespace foundling::page
