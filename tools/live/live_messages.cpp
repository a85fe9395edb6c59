#include "tools/live/live_messages.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "schemas/signals/status_word.h"
#include "schemas/values/shown_text.h"
#include "schemas/values/ucum.h"
#include "tools/live/metric_family.h"
#include "tools/live/topic_level.h"
#include "tools/value_text.h"

namespace foundling {
namespace {

using nlohmann::json;

constexpr std::int64_t millisecond = 1'000'000;

std::string dumped(const json& value) {
  return shown(value.dump(-1, ' ', false, json::error_handler_t::replace));
}

std::string value_json(const DecodedValue& value) {
  if (value.kind == ValueKind::number) return number_text(value.number);
  if (value.kind == ValueKind::code) return std::to_string(value.raw);
  return dumped(value.word);
}

// A label's value: shown, with backslash and quote escaped (OpenMetrics 1.0.0, "escaped-string").
std::string label(std::string_view text) {
  std::string out = "\"";
  for (const char c : shown(text)) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + '"';
}

void family(std::string& out, std::string_view name, std::string_view type, std::string_view help,
            std::string_view unit = {}) {
  out += "# TYPE " + std::string(name) + ' ' + std::string(type) + '\n';
  if (!unit.empty()) out += "# UNIT " + std::string(name) + ' ' + std::string(unit) + '\n';
  out += "# HELP " + std::string(name) + ' ' + std::string(help) + '\n';
}

std::string of_signal(const LiveValues& values, std::size_t i) {
  return "{signal=" + label(values.field(i).name);
}

void add_numbers(std::string& out, const LiveValues& values, const std::vector<std::size_t>& those,
                 std::int64_t now_ns) {
  family(out, "foundling_signal", "gauge",
         "Newest value. No sample while it is stale or reserved. Unverified, protects nothing.");
  for (const std::size_t i : those) {
    const DecodedValue& value = values.newest(i);
    if (values.standing(i, now_ns) != Standing::good || value.kind != ValueKind::number) continue;
    out += "foundling_signal" + of_signal(values, i) + ",unit=" + label(values.entry(i).unit) +
           "} " + number_text(value.number) + '\n';
  }
}

// One family for each quantity, in one unit.
void add_quantities(std::string& out, const LiveValues& values,
                    const std::vector<std::size_t>& those, std::int64_t now_ns) {
  std::vector<std::string> samples(metric_families().size());
  for (const std::size_t i : those) {
    const DecodedValue& value = values.newest(i);
    if (values.standing(i, now_ns) != Standing::good || value.kind != ValueKind::number) continue;
    const auto in = family_of(values.entry(i).unit);
    if (!in) continue;
    samples[in->family] += std::string(metric_families()[in->family].name) + of_signal(values, i) +
                           ",status=" + label(status_word(values.entry(i).status)) + "} " +
                           number_text(in->value(value.number)) + '\n';
  }
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const MetricFamily& one = metric_families()[i];
    if (samples[i].empty()) continue;
    family(out, one.name, "gauge", std::string(one.help) + " Unverified, protects nothing.",
           one.unit);
    out += samples[i];
  }
}

void add_states(std::string& out, const LiveValues& values, const std::vector<std::size_t>& those,
                std::int64_t now_ns) {
  family(out, "foundling_signal_state", "stateset",
         "Which of its states a signal is in. No samples while it is stale or reserved.");
  for (const std::size_t i : those) {
    if (values.entry(i).states.empty() || values.standing(i, now_ns) != Standing::good) continue;
    std::vector<std::string> said;  // two codes may have one word
    for (const StateWord& state : values.entry(i).states) {
      if (std::ranges::find(said, state.word) != said.end()) continue;
      said.push_back(state.word);
      const DecodedValue& value = values.newest(i);
      const bool is = value.kind == ValueKind::state && value.word == state.word;
      out += "foundling_signal_state" + of_signal(values, i) +
             ",foundling_signal_state=" + label(state.word) + "} " + (is ? "1" : "0") + '\n';
    }
  }
}

void add_standing(std::string& out, const LiveValues& values, const std::vector<std::size_t>& those,
                  std::int64_t now_ns) {
  const auto flag = [&](const char* name, const char* help, Standing wanted, Standing also) {
    family(out, name, "gauge", help);
    for (const std::size_t i : those) {
      const Standing standing = values.standing(i, now_ns);
      out += name + of_signal(values, i) + "} " +
             (standing == wanted || standing == also ? "1" : "0") + '\n';
    }
  };
  flag("foundling_signal_stale", "1 where no value came within the signal's time-out.",
       Standing::stale, Standing::never);
  flag("foundling_signal_reserved", "1 where the newest code is reserved: no number.",
       Standing::reserved, Standing::reserved);
  family(out, "foundling_signal_age_seconds", "gauge", "Since the newest value was on the bus.",
         "seconds");
  for (const std::size_t i : those) {
    if (values.standing(i, now_ns) == Standing::never) continue;
    const std::int64_t age_ns = std::max<std::int64_t>(0, now_ns - values.newest(i).t_ns);
    out += "foundling_signal_age_seconds" + of_signal(values, i) + "} " +
           seconds_text(age_ns / millisecond * millisecond) + '\n';
  }
}

void add_status(std::string& out, const LiveValues& values, const std::vector<std::size_t>& those) {
  family(out, "foundling_signal_status", "stateset",
         "What the map says of a signal. One that is only proposed was checked by nobody.");
  for (const std::size_t i : those) {
    for (const Status status :
         {Status::proposed, Status::confirmed}) {  // refuted ones are not sent
      out += "foundling_signal_status" + of_signal(values, i) +
             ",foundling_signal_status=" + label(status_word(status)) + "} " +
             (values.entry(i).status == status ? "1" : "0") + '\n';
    }
  }
}

void add_sanity(std::string& out, const std::vector<SanityCheck>& checks) {
  const auto labels = [](const SanityCheck& check) {
    return "{check=" + label(to_string(check.kind)) + ",of=" + label(check.subject) + "} ";
  };
  family(out, "foundling_sanity_failing", "gauge",
         "1 where the newest look of the sanity watch failed. Not a protection function.");
  for (const SanityCheck& check : checks) {
    out += "foundling_sanity_failing" + labels(check) + (check.failing_now ? "1\n" : "0\n");
  }
  family(out, "foundling_sanity_failures", "counter",
         "Looks of the sanity watch that failed. Not a protection function.");
  for (const SanityCheck& check : checks) {
    out += "foundling_sanity_failures_total" + labels(check) + std::to_string(check.failed) + '\n';
  }
}

}  // namespace

std::string signal_topic(std::string_view prefix, std::string_view name) {
  return std::string(prefix) + "/signal/" + topic_level(name);
}

std::string signal_json(const LiveValues& values, std::size_t i, Standing standing,
                        std::int64_t utc_ns) {
  const DecodedValue& newest = values.newest(i);
  std::string text = "{\"value\":";
  text += standing == Standing::good ? value_json(newest) : "null";
  if (const std::string& unit = values.entry(i).unit; !unit.empty()) {
    text += ",\"unit\":" + dumped(unit);
    if (const auto code = ucum_code(unit); !code.empty()) {
      text += ",\"ucum\":\"" + std::string(code) + '"';
    }
  }
  text += ",\"state\":\"" + std::string(to_string(standing)) + "\",\"status\":\"" +
          std::string(status_word(values.entry(i).status)) + '"';
  if (standing == Standing::reserved) text += ",\"reserved\":" + dumped(newest.word);
  if (utc_ns != 0) text += ",\"time\":\"" + utc_text(utc_ns) + '"';
  return text + '}';
}

std::string sanity_json(std::span<const SanityCheck> checks, std::int64_t utc_ns) {
  json list = json::array();
  std::uint64_t failing = 0;
  for (const SanityCheck& check : checks) {
    failing += check.failing_now ? 1U : 0U;
    list.push_back({{"check", to_string(check.kind)},
                    {"of", check.subject},
                    {"failing", check.failing_now},
                    {"failed", check.failed},
                    {"looked", check.looked},
                    {"text", check.text}});
  }
  json all = {{"failing", failing}, {"checks", list}, {"note", sanity_is_no_protection}};
  if (utc_ns != 0) all["time"] = utc_text(utc_ns);
  return dumped(all);
}

std::string metrics_text(const LiveValues& values, const std::vector<bool>& chosen,
                         std::int64_t now_ns) {
  std::vector<std::size_t> those;
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (chosen[i]) those.push_back(i);
  }
  std::string out;
  add_numbers(out, values, those, now_ns);
  add_quantities(out, values, those, now_ns);
  add_states(out, values, those, now_ns);
  add_standing(out, values, those, now_ns);
  add_status(out, values, those);
  add_sanity(out, values.sanity());
  family(out, "foundling_frames", "counter", "Frames read from the capture.");
  out += "foundling_frames_total " + std::to_string(values.frames()) + '\n';
  return out + "# EOF\n";
}

}  // namespace foundling
