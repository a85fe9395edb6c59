// The writer's part for sessions, frames and what happened on the bus.
#include <algorithm>
#include <string>

#include "schemas/capture/writer_state.h"

namespace foundling {

using capture_file::Statement;
using capture_file::Step;

Result<std::int64_t> CaptureWriter::begin_session(const SessionInfo& info) {
  auto session = state_->within([&]() -> Result<std::int64_t> {
    auto insert = state_->database.prepare(
        "INSERT INTO session (started_utc_ns, origin_ns, started_boot_ns, boot_id, pack, board,"
        " note, interface, bit_rate, data_bit_rate, tool_version)"
        " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
        "table session");
    if (!insert) return insert.error();
    insert->bind(1, info.started_utc_ns).bind(2, info.origin_ns).bind(3, info.started_boot_ns);
    insert->bind(4, info.boot_id).bind(5, info.pack).bind(6, info.board).bind(7, info.note);
    insert->bind(8, info.interface).bind(9, info.bit_rate).bind(10, info.data_bit_rate);
    insert->bind(11, info.tool_version);
    if (auto done = state_->database.run(*insert, "table session"); !done) return done.error();
    return state_->database.last_row();
  });
  // With the first commit at the latest the log is there.
  if (session && state_->held) state_->held->note_log();
  return session;
}

Result<void> CaptureWriter::end_session(std::int64_t session, std::int64_t t_ns) {
  return state_->within([&]() -> Result<void> {
    auto update =
        state_->database.prepare("UPDATE session SET ended_ns = ?2 WHERE id = ?1", "table session");
    if (!update) return update.error();
    update->bind(1, session).bind(2, t_ns);
    return state_->database.run(*update, "table session");
  });
}

Result<bool> CaptureWriter::has_ended(std::int64_t session) {
  auto select = state_->database.prepare("SELECT ended_ns FROM session WHERE id = ?1", "session");
  if (!select) return select.error();
  select->bind(1, session);
  switch (select->step()) {
    case Step::row:
      return !select->is_null(0);
    case Step::done:
      break;
    case Step::failed:
      return state_->database.error("table session");
  }
  return Error{ErrorCode::not_found, "no session " + std::to_string(session)};
}

Result<void> CaptureWriter::add_frames(std::int64_t session, std::span<const Frame> frames) {
  if (frames.empty()) return {};
  return state_->within([&]() -> Result<void> {
    std::int64_t first_row = 0;
    std::int64_t first_ns = frames.front().t_ns;
    std::int64_t last_ns = first_ns;
    Statement& insert = state_->insert_frame;
    for (const Frame& frame : frames) {
      insert.bind(1, session).bind(2, frame.t_ns).bind(3, std::int64_t{frame.bus});
      insert.bind(4, std::int64_t{frame.id.raw}).bind(5, std::int64_t{frame.flags});
      insert.bind(6, frame.bytes());
      if (auto done = state_->database.run(insert, "table frame"); !done) return done;
      if (first_row == 0) first_row = state_->database.last_row();
      first_ns = std::min(first_ns, frame.t_ns);
      last_ns = std::max(last_ns, frame.t_ns);
    }
    Statement& extend = state_->extend_session;
    extend.bind(1, session).bind(2, static_cast<std::int64_t>(frames.size()));
    extend.bind(3, first_ns).bind(4, last_ns).bind(5, first_row);
    extend.bind(6, state_->database.last_row());
    return state_->database.run(extend, "table session");
  });
}

Result<void> CaptureWriter::add_event(std::int64_t session, const BusEvent& event) {
  return state_->within([&]() -> Result<void> {
    auto insert = state_->database.prepare(
        "INSERT INTO bus_event (session, t_ns, bus, kind, can_id, data, detail)"
        " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        "table bus_event");
    if (!insert) return insert.error();
    insert->bind(1, session).bind(2, event.t_ns).bind(3, std::int64_t{event.bus});
    insert->bind(4, event.kind).bind(5, std::int64_t{event.can_id});
    insert->bind(6, std::span<const std::uint8_t>(event.data)).bind(7, event.detail);
    return state_->database.run(*insert, "table bus_event");
  });
}

Result<void> CaptureWriter::add_gap(std::int64_t session, const Gap& gap) {
  return state_->within([&]() -> Result<void> {
    auto insert = state_->database.prepare(
        "INSERT INTO gap (session, from_ns, to_ns, bus, frames_lost, why)"
        " VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        "table gap");
    if (!insert) return insert.error();
    insert->bind(1, session).bind(2, gap.from_ns).bind(3, gap.to_ns);
    insert->bind(4, std::int64_t{gap.bus}).bind(5, static_cast<std::int64_t>(gap.frames_lost));
    insert->bind(6, gap.why);
    return state_->database.run(*insert, "table gap");
  });
}

Result<void> CaptureWriter::add_clock(std::int64_t session, const ClockMark& mark) {
  return state_->within([&]() -> Result<void> {
    auto insert = state_->database.prepare(
        "INSERT INTO clock (session, t_ns, wall_ns, step_ns) VALUES (?1, ?2, ?3, ?4)",
        "table clock");
    if (!insert) return insert.error();
    insert->bind(1, session).bind(2, mark.t_ns).bind(3, mark.wall_ns).bind(4, mark.step_ns);
    return state_->database.run(*insert, "table clock");
  });
}

Result<void> CaptureWriter::add_health(std::int64_t session, const Health& health) {
  return state_->within([&]() -> Result<void> {
    auto insert = state_->database.prepare(
        "INSERT INTO health (session, t_ns, frames, lost, queued, commit_ns, disk_free_bytes, note)"
        " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        "table health");
    if (!insert) return insert.error();
    insert->bind(1, session).bind(2, health.t_ns);
    insert->bind(3, static_cast<std::int64_t>(health.frames));
    insert->bind(4, static_cast<std::int64_t>(health.lost));
    insert->bind(5, static_cast<std::int64_t>(health.queued)).bind(6, health.commit_ns);
    insert->bind(7, static_cast<std::int64_t>(health.disk_free_bytes)).bind(8, health.note);
    return state_->database.run(*insert, "table health");
  });
}

}  // namespace foundling
