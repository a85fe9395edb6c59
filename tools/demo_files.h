// Writes a session of the simulated board to files. Refuses to overwrite; leaves nothing
// half-written.
#pragma once

#include <filesystem>

#include "schemas/values/result.h"
#include "tools/board/session.h"

namespace foundling {

struct CsvPair {
  std::filesystem::path frames;
  std::filesystem::path stimulus;
};

// tractor-N-frames.csv and tractor-N-stimulus.csv in `folder`, which is made if it is not there.
[[nodiscard]] Result<CsvPair> write_session_csv(const std::filesystem::path& folder, int number,
                                                const board::BenchSession& session);

// A new capture with this one session.
[[nodiscard]] Result<void> write_session_capture(const std::filesystem::path& path, int number,
                                                 const board::BenchSession& session);

}  // namespace foundling
