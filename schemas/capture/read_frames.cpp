// The reader's part for frames. Every row is checked: the file may be damaged or made by anybody.
#include <algorithm>
#include <string>

#include "schemas/capture/frame_columns.h"
#include "schemas/capture/reader_state.h"

namespace foundling {

using capture_file::Statement;

namespace {

// The session's rows lie between two rowids, so that other sessions cost nothing.
constexpr const char* frames_sql =
    "SELECT rowid, t_ns, bus, identifier, flags, payload FROM frame"
    " WHERE rowid > ?2 AND rowid >= (SELECT first_row FROM session WHERE id = ?1)"
    " AND rowid <= (SELECT last_row FROM session WHERE id = ?1)"
    " AND session = ?1 ORDER BY rowid";

// A frame as its row has it, every column asked for once: asking is what reading costs beside
// SQLite itself.
struct FrameRow {
  std::int64_t t_ns;
  std::int64_t bus;
  std::int64_t identifier;
  std::int64_t flags;
  std::span<const std::uint8_t> payload;

  explicit FrameRow(const Statement& row)
      : t_ns(row.time(1)),
        bus(row.integer(2)),
        identifier(row.integer(3)),
        flags(row.integer(4)),
        payload(row.blob(5)) {}

  // What is wrong with it, or null.
  [[nodiscard]] const char* fault() const {
    if (bus < 0 || bus > 255) return "bus is not in 0..255";
    if (identifier < 0 || identifier > 0xFFFFFFFF) return "identifier is not 32 bits";
    if (flags < 0 || flags > 255) return "flags are not in 0..255";
    if (payload.size() > 64) return "payload is longer than 64 bytes";
    return nullptr;
  }
  [[nodiscard]] CanId id() const { return CanId{static_cast<std::uint32_t>(identifier)}; }
  [[nodiscard]] Frame frame() const {
    Frame frame;
    frame.t_ns = t_ns;
    frame.bus = static_cast<std::uint8_t>(bus);
    frame.id = id();
    frame.flags = static_cast<std::uint8_t>(flags);
    frame.length = static_cast<std::uint8_t>(payload.size());
    std::copy(payload.begin(), payload.end(), frame.payload.begin());
    return frame;
  }
};

}  // namespace

Error CaptureReader::State::bad_frame(std::int64_t row, const char* what) const {
  return {ErrorCode::format,
          database.path().string() + ": table frame, row " + std::to_string(row) + ": " + what};
}

Result<CaptureReader::State::LoadedFrames> CaptureReader::State::load_frames(std::int64_t session) {
  capture_file::FrameColumns columns;
  auto done = each_row(frames_sql, "table frame", {session, std::int64_t{0}},
                       [&](const Statement& row) -> Result<bool> {
                         const FrameRow read(row);
                         if (const char* fault = read.fault()) {
                           return bad_frame(row.integer(0), fault);
                         }
                         const CanId id = read.id();
                         if (id.is_remote() || id.is_error()) return true;
                         columns.add(read.t_ns, static_cast<std::uint8_t>(read.bus), id,
                                     static_cast<std::uint8_t>(read.flags), read.payload);
                         return true;
                       });
  if (!done) return done.error();
  LoadedFrames loaded;
  loaded.fd_messages = columns.fd_messages();
  loaded.messages = columns.take();
  return loaded;
}

Result<void> CaptureReader::for_each_frame(std::int64_t session, std::int64_t from_ns,
                                           std::int64_t to_ns,
                                           const std::function<bool(const Frame&)>& visit) {
  return state_->each_row(frames_sql, "table frame", {session, std::int64_t{0}},
                          [&](const Statement& row) -> Result<bool> {
                            const FrameRow read(row);
                            if (read.t_ns < from_ns || read.t_ns > to_ns) return true;
                            if (const char* fault = read.fault()) {
                              return state_->bad_frame(row.integer(0), fault);
                            }
                            return visit(read.frame());
                          });
}

Result<std::int64_t> CaptureReader::frames_after(std::int64_t session, std::int64_t after,
                                                 const std::function<bool(const Frame&)>& visit) {
  std::int64_t last = after;
  auto done = state_->each_row(frames_sql, "table frame", {session, after},
                               [&](const Statement& row) -> Result<bool> {
                                 last = row.integer(0);
                                 const FrameRow read(row);
                                 if (const char* fault = read.fault()) {
                                   return state_->bad_frame(last, fault);
                                 }
                                 return visit(read.frame());
                               });
  if (!done) return done.error();
  return last;
}

}  // namespace foundling
