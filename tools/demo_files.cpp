#include "tools/demo_files.h"

#include <sstream>
#include <string>
#include <system_error>

#include "schemas/capture/capture_writer.h"
#include "tools/board/session_csv.h"
#include "tools/exchange/new_capture.h"
#include "tools/files/new_file.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;
using TextWriter = void (*)(std::ostream&, const board::BenchSession&);

Error io_error(const fs::path& path, const std::string& why) {
  return {ErrorCode::io, path.string() + ": " + why};
}

Result<void> must_be_new(const fs::path& path) {
  std::error_code ignored;
  if (!fs::exists(path, ignored)) return {};
  return Error{ErrorCode::exists, path.string() + ": is there already; nothing was written"};
}

Result<void> write_text(const fs::path& path, TextWriter writer,
                        const board::BenchSession& session) {
  auto file = NewFile::begin(path.string(), NewFile::Over::nothing);
  if (!file) return file.error();
  std::ostringstream text;
  writer(text, session);
  if (auto done = file->write(text.view()); !done) return done;
  return file->finish();
}

SessionInfo session_info(int number) {
  SessionInfo info;
  info.pack = board::pack_name;
  info.board = board::board_name;
  info.note = "bench session " + std::to_string(number) +
              ", simulated: no such tractor, board or bench exists";
  info.tool_version = "foundling " FOUNDLING_VERSION;
  info.bit_rate = board::bus_bit_rate;
  return info;
}

Result<void> fill(CaptureWriter& writer, int number, const board::BenchSession& session) {
  if (auto done = writer.begin(); !done) return done;
  const auto id = writer.begin_session(session_info(number));
  if (!id) return id.error();
  if (auto done = writer.add_frames(*id, session.frames); !done) return done;
  for (const ChannelSeries& series : session.channels) {
    const auto channel = writer.ensure_channel(series.channel);
    if (!channel) return channel.error();
    if (auto done = writer.add_readings(*id, *channel, series.readings); !done) return done;
  }
  if (auto done = writer.end_session(*id, session.duration_ns); !done) return done;
  return writer.commit();
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
  if (const auto done = write_text(pair.frames, board::write_frames_csv, session); !done) {
    return done.error();
  }
  if (const auto done = write_text(pair.stimulus, board::write_stimulus_csv, session); !done) {
    fs::remove(pair.frames, problem);
    return done.error();
  }
  return pair;
}

Result<void> write_session_capture(const fs::path& path, int number,
                                   const board::BenchSession& session) {
  auto capture = NewCapture::start(path);
  if (!capture) return capture.error();
  if (auto done = fill(capture->writer(), number, session); !done) return done;
  return capture->finish();
}

}  // namespace foundling
