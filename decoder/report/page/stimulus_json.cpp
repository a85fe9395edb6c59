// What was applied on the bench, channel by channel.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "decoder/report/page/page_pieces.h"

namespace foundling::page {
namespace {

constexpr std::size_t most_changes = 5000;  // of a channel that holds, drawn one by one

// A state channel's words in order of appearance; a reading's value is the word's place there.
std::vector<std::string> words_of(const ChannelSeries& channel) {
  std::vector<std::string> words;
  for (const Reading& reading : channel.readings) {
    if (std::ranges::find(words, reading.state) == words.end()) words.push_back(reading.state);
  }
  return words;
}

std::vector<double> values_of(const ChannelSeries& channel, const std::vector<std::string>& words) {
  std::vector<double> values;
  for (const Reading& reading : channel.readings) {
    const auto word = std::ranges::find(words, reading.state) - words.begin();
    values.push_back(channel.channel.is_state() ? static_cast<double>(word) : reading.value);
  }
  return values;
}

void add_changes(Json& json, const ChannelSeries& channel, const std::vector<double>& values) {
  Json times = Json::array();
  Json levels = Json::array();
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (i > 0 && values[i] == values[i - 1]) continue;
    times.push_back(figure_json(seconds(channel.readings[i].t_ns)));
    levels.push_back(figure_json(values[i]));
  }
  json["times"] = std::move(times);
  json["levels"] = std::move(levels);
}

// The value that holds is in every bucket that it reaches into.
void fill_held(Extremes& extremes, const ChannelSeries& channel, const std::vector<double>& values,
               const Grid& grid) {
  for (std::size_t i = 0; i < values.size(); ++i) {
    const std::size_t from = grid.bucket(channel.readings[i].t_ns);
    const std::size_t to =
        i + 1 < values.size() ? grid.bucket(channel.readings[i + 1].t_ns) : grid.count - 1;
    for (std::size_t bucket = from; bucket <= to; ++bucket) extremes.add(bucket, values[i]);
  }
}

}  // namespace

Section stimuli_section(const PageInput& input, const Grid& grid) {
  Section section;
  for (const ChannelSeries& channel : input.channels) {
    const std::vector<std::string> words =
        channel.channel.is_state() ? words_of(channel) : std::vector<std::string>{};
    const std::vector<double> values = values_of(channel, words);
    const bool held = channel.channel.is_state() || channel.channel.kind == ChannelKind::hold;
    Json json{{"name", channel.channel.name},
              {"unit", channel.channel.unit},
              {"held", held},
              {"readings", channel.readings.size()}};
    if (channel.channel.is_state()) json["words"] = words;
    Drawn drawn(grid.count);
    if (held && values.size() <= most_changes) {
      add_changes(json, channel, values);
    } else if (held) {
      fill_held(drawn.values, channel, values, grid);
    } else {
      for (std::size_t i = 0; i < values.size(); ++i) {
        drawn.values.add(grid.bucket(channel.readings[i].t_ns), values[i]);
      }
    }
    section.json.push_back(std::move(json));
    section.drawn.push_back(std::move(drawn));
  }
  return section;
}

}  // namespace foundling::page
