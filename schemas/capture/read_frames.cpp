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

// What is wrong with a row, or null.
const char* fault_of(const Statement& row) {
  if (row.integer(2) < 0 || row.integer(2) > 255) return "bus is not in 0..255";
  if (row.integer(3) < 0 || row.integer(3) > 0xFFFFFFFF) return "identifier is not 32 bits";
  if (row.integer(4) < 0 || row.integer(4) > 255) return "flags are not in 0..255";
  if (row.blob(5).size() > 64) return "payload is longer than 64 bytes";
  return nullptr;
}

Frame frame_of(const Statement& row) {
  Frame frame;
  frame.t_ns = row.integer(1);
  frame.bus = static_cast<std::uint8_t>(row.integer(2));
  frame.id.raw = static_cast<std::uint32_t>(row.integer(3));
  frame.flags = static_cast<std::uint8_t>(row.integer(4));
  const auto payload = row.blob(5);
  frame.length = static_cast<std::uint8_t>(payload.size());
  std::copy(payload.begin(), payload.end(), frame.payload.begin());
  return frame;
}

}  // namespace

Error CaptureReader::State::bad_frame(std::int64_t row, const char* what) const {
  return {ErrorCode::format,
          database.path().string() + ": table frame, row " + std::to_string(row) + ": " + what};
}

Result<std::vector<MessageSeries>> CaptureReader::State::load_messages(std::int64_t session) {
  capture_file::FrameColumns columns;
  auto done = each_row(frames_sql, "table frame", {session, std::int64_t{0}},
                       [&](const Statement& row) -> Result<bool> {
                         if (const char* fault = fault_of(row)) {
                           return bad_frame(row.integer(0), fault);
                         }
                         const CanId id{static_cast<std::uint32_t>(row.integer(3))};
                         if (id.is_remote() || id.is_error()) return true;
                         columns.add(row.integer(1), static_cast<std::uint8_t>(row.integer(2)), id,
                                     row.blob(5));
                         return true;
                       });
  if (!done) return done.error();
  return columns.take();
}

Result<void> CaptureReader::for_each_frame(std::int64_t session, std::int64_t from_ns,
                                           std::int64_t to_ns,
                                           const std::function<bool(const Frame&)>& visit) {
  return state_->each_row(frames_sql, "table frame", {session, std::int64_t{0}},
                          [&](const Statement& row) -> Result<bool> {
                            const std::int64_t t_ns = row.integer(1);
                            if (t_ns < from_ns || t_ns > to_ns) return true;
                            if (const char* fault = fault_of(row)) {
                              return state_->bad_frame(row.integer(0), fault);
                            }
                            return visit(frame_of(row));
                          });
}

Result<std::int64_t> CaptureReader::frames_after(std::int64_t session, std::int64_t after,
                                                 const std::function<bool(const Frame&)>& visit) {
  std::int64_t last = after;
  auto done = state_->each_row(frames_sql, "table frame", {session, after},
                               [&](const Statement& row) -> Result<bool> {
                                 last = row.integer(0);
                                 if (const char* fault = fault_of(row)) {
                                   return state_->bad_frame(last, fault);
                                 }
                                 return visit(frame_of(row));
                               });
  if (!done) return done.error();
  return last;
}

}  // namespace foundling
