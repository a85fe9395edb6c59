#include "tools/demo_files.h"

#include <cerrno>
#include <cstring>
#include <fstream>
#include <string>
#include <system_error>

#include "schemas/capture/capture_writer.h"
#include "tools/board/session_csv.h"

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

// Under another name first, so that a full disk leaves no half file under the right one.
fs::path unfinished_name(const fs::path& path) {
  fs::path unfinished = path;
  unfinished += ".unfinished";
  return unfinished;
}

// Keeps the work under its right name, or removes it; `written` is the outcome so far.
Result<void> finish(const fs::path& path, Result<void> written) {
  std::error_code problem;
  if (written) {
    fs::rename(unfinished_name(path), path, problem);
    if (problem) written = io_error(path, problem.message());
  }
  if (!written) fs::remove(unfinished_name(path), problem);
  return written;
}

Result<void> write_text(const fs::path& path, TextWriter writer,
                        const board::BenchSession& session) {
  std::ofstream out(unfinished_name(path), std::ios::binary | std::ios::trunc);
  if (!out) return io_error(path, std::strerror(errno));
  writer(out, session);
  out.close();
  return finish(path, out ? Result<void>{} : io_error(path, std::strerror(errno)));
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

Result<void> build_capture(const fs::path& path, int number, const board::BenchSession& session) {
  auto writer = CaptureWriter::create(path, CaptureWriter::Purpose::building);
  if (!writer) return writer.error();
  if (auto done = fill(*writer, number, session); !done) return done;
  return writer->close();
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
  if (auto fresh = must_be_new(path); !fresh) return fresh;
  std::error_code ignored;
  fs::remove(unfinished_name(path), ignored);
  return finish(path, build_capture(unfinished_name(path), number, session));
}

}  // namespace foundling
