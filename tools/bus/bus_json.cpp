#include "tools/bus/bus_json.h"

#include <nlohmann/json.hpp>

namespace foundling {
namespace {

using nlohmann::json;

json nullable(const std::optional<std::uint32_t>& value) {
  return value ? json(*value) : json(nullptr);
}

json to_json(const BitTiming& timing) {
  if (timing.bit_rate == 0) return nullptr;
  return {{"bit_rate", timing.bit_rate}, {"sample_point", timing.sample_point}};
}

json to_json(const CanLink& link) {
  return {{"interface", link.name},
          {"kind", link.kind},
          {"up", link.up},
          {"state", link.state.empty() ? json(nullptr) : json(link.state)},
          {"listen_only", link.listen_only},
          {"nominal", to_json(link.nominal)},
          {"data", to_json(link.data)},
          {"restart_ms", link.restart_ms},
          {"receive_errors", nullable(link.receive_errors)},
          {"transmit_errors", nullable(link.transmit_errors)},
          {"frames", link.counters.frames},
          {"dropped", link.counters.dropped},
          {"overruns", link.counters.overruns},
          {"bus_errors", link.counters.bus_errors},
          {"times_bus_off", link.counters.times_bus_off}};
}

const char* word_of(BusVerdict verdict) {
  switch (verdict) {
    case BusVerdict::good:
      return "good";
    case BusVerdict::noisy:
      return "noisy";
    case BusVerdict::not_acknowledged:
      return "not acknowledged";
    case BusVerdict::fd_frames:
      return "fd frames";
    case BusVerdict::wrong_rate:
      return "wrong rate";
    case BusVerdict::unspecified_errors:
      return "unspecified errors";
    case BusVerdict::silent:
      return "silent";
  }
  return "";
}

const char* word_of(DataHeard heard) {
  switch (heard) {
    case DataHeard::right_rate:
      return "right rate";
    case DataHeard::failing:
      return "failing";
    case DataHeard::not_switched:
      return "not switched";
    case DataHeard::errors:
      return "errors";
    case DataHeard::nothing:
      return "nothing";
  }
  return "";
}

bool is_known(const DataRate& data) {
  return data.heard == DataHeard::right_rate || data.heard == DataHeard::failing;
}

json to_json(const Listening& heard) {
  const HeardFaults& faults = heard.faults();
  const bool fd = heard.data_bit_rate() != 0;
  return {{"bit_rate", heard.bit_rate()},
          {"data_bit_rate", fd ? json(heard.data_bit_rate()) : json(nullptr)},
          {"verdict", word_of(judge(heard))},
          {"data_verdict", fd ? json(word_of(judge_data(heard))) : json(nullptr)},
          {"frames", heard.frames()},
          {"fd_frames", heard.fd_frames()},
          {"frames_at_data_rate", heard.switched()},
          {"repeats_one_frame", heard.repeats_one_frame()},
          {"errors",
           {{"acknowledge", faults.acknowledge},
            {"stuff", faults.stuff},
            {"form", faults.form},
            {"crc", faults.crc},
            {"bit", faults.bit},
            {"reserved_bit", faults.reserved_bit},
            {"unspecified", faults.unspecified}}}};
}

std::string printed(const json& value) {
  return value.dump(2, ' ', false, json::error_handler_t::replace) + '\n';
}

}  // namespace

std::string links_json(std::span<const CanLink> links) {
  json all = json::array();
  for (const CanLink& link : links) all.push_back(to_json(link));
  return printed({{"format", "foundling-interfaces"}, {"version", 1}, {"interfaces", all}});
}

std::string search_json(const RateSearch& search) {
  json tried = json::array();
  for (const Listening& heard : search.tried) tried.push_back(to_json(heard));
  const Listening* best = search.best();
  const DataRate data = search.data_rate();
  return printed(
      {{"format", "foundling-bit-rate"},
       {"version", 1},
       {"bit_rate", best != nullptr ? json(best->bit_rate()) : json(nullptr)},
       {"verdict", best != nullptr ? json(word_of(judge(*best))) : json(nullptr)},
       {"data_bit_rate", is_known(data) ? json(data.best->data_bit_rate()) : json(nullptr)},
       {"data_verdict", data.listenings > 0 ? json(word_of(data.heard)) : json(nullptr)},
       {"data_rates_refused", search.refused},
       {"tried", tried}});
}

}  // namespace foundling
