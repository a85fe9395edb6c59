#include "tools/demo_files.h"

#include <cerrno>
#include <cstring>
#include <fstream>
#include <string>
#include <system_error>

#include "tools/board/session_csv.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;
using Writer = void (*)(std::ostream&, const board::BenchSession&);

Error io_error(const fs::path& path, const std::string& why) {
  return {ErrorCode::io, path.string() + ": " + why};
}

Result<void> must_be_new(const fs::path& path) {
  std::error_code ignored;
  if (!fs::exists(path, ignored)) return {};
  return Error{ErrorCode::exists, path.string() + ": is there already; nothing was written"};
}

// Under another name first, so that a full disk leaves no half file under the right one.
Result<void> write_whole(const fs::path& path, Writer writer, const board::BenchSession& session) {
  fs::path unfinished = path;
  unfinished += ".unfinished";
  std::ofstream out(unfinished, std::ios::binary | std::ios::trunc);
  if (!out) return io_error(path, std::strerror(errno));
  writer(out, session);
  out.close();
  std::error_code problem;
  if (!out) {
    const std::string why = std::strerror(errno);
    fs::remove(unfinished, problem);
    return io_error(path, why);
  }
  fs::rename(unfinished, path, problem);
  if (problem) return io_error(path, problem.message());
  return {};
}

}  // namespace

Result<CsvPair> write_session_csv(const fs::path& folder, int number,
                                  const board::BenchSession& session) {
  std::error_code problem;
  fs::create_directories(folder, problem);
  if (problem) return io_error(folder, problem.message());
  const std::string stem = "tractor-" + std::to_string(number);
  const CsvPair pair{folder / (stem + "-frames.csv"), folder / (stem + "-stimulus.csv")};
  for (const fs::path& path : {pair.frames, pair.stimulus}) {
    if (const auto fresh = must_be_new(path); !fresh) return fresh.error();
  }
  if (const auto done = write_whole(pair.frames, board::write_frames_csv, session); !done) {
    return done.error();
  }
  if (const auto done = write_whole(pair.stimulus, board::write_stimulus_csv, session); !done) {
    fs::remove(pair.frames, problem);
    return done.error();
  }
  return pair;
}

}  // namespace foundling
