#include "decoder/report/page/page_json.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "decoder/report/page/packed.h"
#include "decoder/report/page/page_pieces.h"
#include "schemas/values/shown_text.h"

namespace foundling {
namespace {

using page::Json;
using page::Section;

constexpr std::size_t most_buckets = 8000;
constexpr std::size_t fewest_buckets = 64;

// As many steps of time as the room allows at three bytes a value, which most signals keep to.
Grid grid_for(const PageInput& input, std::size_t series, std::size_t most_bytes) {
  const std::size_t wanted = most_bytes / (3 * std::max<std::size_t>(series, 1));
  constexpr std::int64_t shortest_ns = 1'000'000;
  return Grid::over(input.source.from_ns, input.source.to_ns,
                    std::clamp(wanted, fewest_buckets, most_buckets), shortest_ns);
}

std::vector<Packed> pack(const Section& section) {
  std::vector<Packed> all;
  for (const page::Drawn& drawn : section.drawn) {
    all.push_back(drawn.values.empty() ? Packed{} : packed(drawn.values, drawn.base, drawn.step));
  }
  return all;
}

std::size_t bytes_of(const std::vector<Packed>& all) {
  std::size_t bytes = 0;
  for (const Packed& series : all) bytes += series.data.size();
  return bytes;
}

void halve(Section& section) {
  for (page::Drawn& drawn : section.drawn) drawn.values.halve();
}

Json joined(Section& section, const std::vector<Packed>& series) {
  Json all = Json::array();
  for (std::size_t i = 0; i < series.size(); ++i) {
    Json& json = section.json[i];
    if (!series[i].data.empty()) {
      json["values"] = {
          {"base", series[i].base}, {"step", series[i].step}, {"data", series[i].data}};
    }
    all.push_back(std::move(json));
  }
  return all;
}

// Names, notes and units of the files: what would steer a reader's eye is written out.
void show_texts(Json& json) {
  if (json.is_string()) {
    json = shown_lines(json.get_ref<const std::string&>());
  } else if (json.is_structured()) {
    for (Json& member : json) show_texts(member);
  }
}

}  // namespace

std::string page_json(const PageInput& input, std::size_t most_bytes) {
  const std::vector<Field> fields = fields_of(*input.map);
  Grid grid = grid_for(input, fields.size() + input.channels.size(), most_bytes);
  Section stimuli = page::stimuli_section(input, grid);
  Section signals = page::signals_section(input, fields, grid);
  std::vector<Packed> stimuli_series = pack(stimuli);
  std::vector<Packed> signal_series = pack(signals);
  while (bytes_of(stimuli_series) + bytes_of(signal_series) > most_bytes &&
         grid.count > fewest_buckets) {
    grid = grid.halved();
    halve(stimuli);
    halve(signals);
    stimuli_series = pack(stimuli);
    signal_series = pack(signals);
  }
  Json json{{"format", "foundling-page"}, {"version", 1}, {"title", input.title}};
  json["source"] = page::source_json(input);
  json["time"] = {{"from_s", page::seconds(grid.start)},
                  {"step_s", page::seconds(grid.step)},
                  {"count", grid.count}};
  json["bus"] = page::buses_json(input);
  json["messages"] = page::messages_json(input, fields);
  json["stimuli"] = joined(stimuli, stimuli_series);
  json["signals"] = joined(signals, signal_series);
  json["sanity"] = page::sanity_json(input);
  json["findings"] = page::findings_json(input);
  json["check"] = input.check ? page::check_json(*input.check) : Json();
  json["against"] = page::against_json(input);
  show_texts(json);
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace foundling
