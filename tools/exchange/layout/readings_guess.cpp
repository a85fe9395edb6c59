// A guess at the columns of a meter's or a supply's log, and how a person sees it.
#include <algorithm>

#include "schemas/values/channel_name.h"
#include "schemas/values/unit.h"
#include "tools/exchange/layout/layout_guess.h"
#include "tools/exchange/layout/layout_shown.h"
#include "tools/exchange/layout/readings_layout.h"

namespace foundling {
namespace {

constexpr std::string_view around_unit = " \t[](){}_,/:-.";

// "Pack voltage [V]": the last word is the unit, the others are the channel's name.
struct Heading {
  std::string name;
  std::string unit;  // empty: none that is known
};

Heading heading_of(std::string_view text) {
  const std::size_t end = text.find_last_not_of(around_unit);
  if (end == text.npos) return {};
  const std::size_t before = text.find_last_of(around_unit, end);
  Heading heading;
  if (before != text.npos) {
    if (const auto unit = known_unit(text.substr(before + 1, end - before))) {
      heading.unit = *unit;
      text = text.substr(0, before);
    }
  }
  for (const char c : text) {
    const bool plain = static_cast<unsigned char>(c) >= 0x80 || (c >= '0' && c <= '9') ||
                       (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
    if (plain) {
      heading.name += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    } else if (!heading.name.empty() && heading.name.back() != '_') {
      heading.name += '_';
    }
  }
  while (!heading.name.empty() && heading.name.back() == '_') heading.name.pop_back();
  return heading;
}

void add_column(ReadingsLayout& layout, std::size_t number, const ColumnSample& column) {
  const Heading heading = heading_of(column.heading);
  if (heading.unit.empty() || !fault_of_channel_name(heading.name).empty()) return;
  if (!column.are_numbers(layout.table.decimal)) return;
  const bool twice = std::ranges::any_of(
      layout.columns, [&](const auto& other) { return other.channel.name == heading.name; });
  if (twice) return;
  layout.columns.push_back({number, {heading.name, heading.unit, ChannelKind::sample}});
}

}  // namespace

Result<ReadingsGuess> guess_readings_layout(const std::filesystem::path& path) {
  auto sample = sample_table(path);
  if (!sample) return sample.error();
  ReadingsGuess guess{{}, std::move(sample).value(), {}};
  const bool timed = guess_time(guess.sample, guess.unsure);
  guess.layout.table = guess.sample.table;
  for (std::size_t c = 1; c <= guess.sample.columns.size() && timed; ++c) {
    if (c != guess.layout.table.time) add_column(guess.layout, c, guess.sample.columns[c - 1]);
  }
  if (!guess.layout.columns.empty()) return guess;
  const std::string what = timed ? "reading: no heading names a channel and its unit" : "time";
  return Error{ErrorCode::format,
               path.string() + ": no column looks like a " + what +
                   "; say it with --stimulus-layout, such as 'separator semicolon, decimal comma, "
                   "time 1 s, reading 2 pack_voltage V'"};
}

Result<std::string> shown_guess(const std::filesystem::path& path, const ReadingsGuess& guess) {
  const ReadingsLayout& layout = guess.layout;
  const auto read = read_readings_by_layout(path, layout);
  if (!read) return read.error();
  std::string text = path.string() + " is another program's table. It looks like this:\n";
  text += table_line(layout.table);
  for (std::size_t c = 1; c <= guess.sample.columns.size(); ++c) {
    std::string meaning = c == layout.table.time ? time_words(layout.table.unit) : "not used";
    for (const auto& column : layout.columns) {
      if (column.number == c) {
        meaning = "readings of " + column.channel.name + " in " + column.channel.unit;
      }
    }
    text += column_line(c, c, guess.sample.columns[c - 1].heading, meaning);
  }
  std::size_t readings = 0;
  for (const ChannelSeries& series : read->channels) readings += series.readings.size();
  text += "It has " + std::to_string(readings) +
          " readings, taken as moments of what goes on moving (sample).\n";
  for (const std::string& doubt : guess.unsure) text += "Look twice: " + doubt + ".\n";
  return text;
}

}  // namespace foundling
