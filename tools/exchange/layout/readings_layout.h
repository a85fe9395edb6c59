// How another program's table of readings is laid out: a meter's or a supply's log, a column for
// each channel. In words that a person can type:
//   separator semicolon, decimal comma, skip 1, time 1 ms, reading 2 pack_voltage V,
//   reading 3 pack_current A hold
// A reading is of a moving quantity (sample), as a log is that goes on by itself, unless hold is
// said.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/values/reading.h"
#include "schemas/values/result.h"
#include "tools/exchange/layout/column_sample.h"
#include "tools/exchange/layout/table_layout.h"
#include "tools/exchange/stimulus_csv.h"

namespace foundling {

struct ReadingsLayout {
  struct Column {
    std::size_t number = 0;
    Channel channel;
  };
  TableLayout table;
  std::vector<Column> columns;
};

struct ReadingsGuess {
  ReadingsLayout layout;
  TableSample sample;
  std::vector<std::string> unsure;
};

[[nodiscard]] Result<ReadingsLayout> parse_readings_layout(std::string_view words);
[[nodiscard]] std::string readings_layout_words(const ReadingsLayout& layout);

// An empty field is no reading; whatever else is no number is an error with its place.
[[nodiscard]] Result<StimulusFile> read_readings_by_layout(const std::filesystem::path& path,
                                                           const ReadingsLayout& layout);

// Channels are called as the headings say, and have the unit that stands there; a column without
// one is left out.
[[nodiscard]] Result<ReadingsGuess> guess_readings_layout(const std::filesystem::path& path);
[[nodiscard]] Result<std::string> shown_guess(const std::filesystem::path& path,
                                              const ReadingsGuess& guess);

}  // namespace foundling
