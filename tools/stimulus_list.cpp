#include "tools/stimulus_list.h"

#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <iostream>
#include <nlohmann/json.hpp>

#include "decoder/report/text_table.h"
#include "schemas/values/ucum.h"
#include "tools/exchange/decimal_seconds.h"
#include "tools/exchange/number_text.h"
#include "tools/stimulus_session.h"
#include "tools/text_width.h"

namespace foundling {
namespace {

struct Line {
  std::int64_t t_ns = 0;
  std::string number, name, words;
  bool superseded = false, withdrawn = false;
};

nlohmann::json superseded_by(std::int64_t number) {
  return number == 0 ? nlohmann::json(nullptr) : nlohmann::json(number);
}

nlohmann::json to_json(const StoredReading& stored) {
  const bool is_state = stored.channel.is_state();
  const Reading& reading = stored.reading;
  nlohmann::json json{
      {"number", stored.id},
      {"t_ns", reading.t_ns},
      {"earliest_ns", reading.earliest_ns == Reading::no_time
                          ? nlohmann::json(nullptr)
                          : nlohmann::json(reading.earliest_ns)},
      {"channel", stored.channel.name},
      {"unit", stored.channel.unit},
      {"kind", stored.channel.kind == ChannelKind::hold ? "hold" : "sample"},
      {"value", is_state ? nlohmann::json(reading.state) : nlohmann::json(reading.value)},
      {"uncertainty", std::isnan(reading.uncertainty) ? nlohmann::json(nullptr)
                                                      : nlohmann::json(reading.uncertainty)},
      {"superseded_by", superseded_by(stored.superseded_by)}};
  if (const auto ucum = ucum_code(stored.channel.unit); !ucum.empty()) json["ucum"] = ucum;
  return json;
}

nlohmann::json to_json(const StoredMark& stored) {
  return {{"number", stored.id},
          {"t_ns", stored.mark.t_ns},
          {"kind", stored.mark.kind},
          {"text", stored.mark.text},
          {"superseded_by", superseded_by(stored.superseded_by)}};
}

// "  (since 8.250000000 s at the earliest)"; nothing where it is unknown, or an instrument said it.
std::string since_words(const Reading& reading) {
  if (reading.earliest_ns == Reading::no_time || reading.earliest_ns == reading.t_ns) return {};
  std::string time;
  append_seconds(time, reading.earliest_ns);
  return " (since " + time + " s at the earliest)";
}

// Of a plan's many lines the first says which it is.
std::string first_line(const std::string& text) { return text.substr(0, text.find('\n')); }

std::vector<Line> lines_of(const std::vector<StoredReading>& readings,
                           const std::vector<StoredMark>& marks) {
  std::vector<Line> lines;
  for (const StoredReading& stored : readings) {
    lines.push_back({stored.reading.t_ns, std::to_string(stored.id), stored.channel.name,
                     reading_words(stored.channel, stored.reading) + since_words(stored.reading),
                     stored.superseded_by != 0, stored.superseded_by == stored.id});
  }
  for (const StoredMark& stored : marks) {
    lines.push_back({stored.mark.t_ns, 'm' + std::to_string(stored.id),
                     '(' + stored.mark.kind + ')', first_line(stored.mark.text),
                     stored.superseded_by != 0, stored.superseded_by == stored.id});
  }
  std::stable_sort(lines.begin(), lines.end(),
                   [](const Line& a, const Line& b) { return a.t_ns < b.t_ns; });
  return lines;
}

void add(TextTable& table, const Line& line) {
  std::string time;
  append_seconds(time, line.t_ns);
  const char* const state = line.withdrawn    ? " (withdrawn)"
                            : line.superseded ? " (superseded)"
                                              : "";
  table.add({line.number, time + " s", line.name, line.words + state});
}

template <typename Row>
nlohmann::json all_json(const std::vector<Row>& rows, bool superseded_too) {
  nlohmann::json all = nlohmann::json::array();
  for (const Row& row : rows) {
    if (superseded_too || row.superseded_by == 0) all.push_back(to_json(row));
  }
  return all;
}

}  // namespace

std::string reading_words(const Channel& channel, const Reading& reading) {
  if (channel.is_state()) return reading.state;
  std::string text = shown_number(reading.value) + ' ' + channel.unit;
  if (std::isnan(reading.uncertainty)) return text;
  // Two digits say all that an uncertainty can (GUM 7.2.6).
  char uncertainty[32];
  std::snprintf(uncertainty, sizeof uncertainty, "%.2g", reading.uncertainty);
  return text + " ± " + uncertainty;
}

Result<void> list_stimuli(const std::vector<std::string>& words, const StimulusOrder& order) {
  if (!words.empty()) {
    return Error{ErrorCode::usage, "list: expected nothing more, found \"" + words[0] + '"'};
  }
  auto reader = CaptureReader::open(order.capture);
  if (!reader) return reader.error();
  const auto session = stimulus_session(*reader, order.capture, order.session);
  if (!session) return session.error();
  auto readings = reader->readings(session->id);
  if (!readings) return readings.error();
  const auto marks = reader->marks(session->id);
  if (!marks) return marks.error();
  if (!order.json) {
    TextTable table(
        {{"number", true}, {"time", true}, {"channel"}, {"value", false, NoRoom::wrapped}},
        text_width(STDOUT_FILENO));
    for (const Line& line : lines_of(*readings, *marks)) {
      if (order.all || !line.superseded) add(table, line);
    }
    std::cout << table.text();
    return {};
  }
  std::stable_sort(readings->begin(), readings->end(),
                   [](const auto& a, const auto& b) { return a.reading.t_ns < b.reading.t_ns; });
  const nlohmann::json result = {{"format", "foundling-readings"},
                                 {"version", 1},
                                 {"session", session->id},
                                 {"readings", all_json(*readings, order.all)},
                                 {"marks", all_json(*marks, order.all)}};
  std::cout << result.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) << '\n';
  return {};
}

}  // namespace foundling
