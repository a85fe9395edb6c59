// Writes a random board as the files a person would bring: frames.csv, stimulus.csv, and the truth
// beside them as truth.json.
#pragma once

#include <filesystem>

#include "schemas/values/result.h"
#include "tests/bench/recovery/random_board.h"

namespace foundling::recovery {

[[nodiscard]] Result<void> write_board(const RandomBoard& board,
                                       const std::filesystem::path& folder);

}  // namespace foundling::recovery
