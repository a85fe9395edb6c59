// A guess at how another program's table is laid out, from its headings and first rows. It is shown
// and confirmed by a person before anything is imported by it.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "schemas/values/result.h"
#include "tools/exchange/layout/column_sample.h"
#include "tools/exchange/layout/frames_layout.h"

namespace foundling {

struct FramesGuess {
  FramesLayout layout;
  TableSample sample;
  std::vector<std::string> unsure;  // what nothing in the file says for certain, as sentences
};

// Whether the file's first line is the heading of our own tables (frames or readings), if with a
// slip in it: then nothing is to be guessed.
[[nodiscard]] bool has_own_heading(const std::filesystem::path& path);

[[nodiscard]] Result<FramesGuess> guess_frames_layout(const std::filesystem::path& path);

// Where the time stands and in which unit, for any table; adds what is unsure about the unit.
// False: no column can be it.
bool guess_time(TableSample& sample, std::vector<std::string>& unsure);

}  // namespace foundling
