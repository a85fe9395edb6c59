// The writer's part for channels and readings, and the importers' putting into order.
#include <string>

#include "schemas/capture/writer_state.h"

namespace foundling {

using capture_file::Statement;
using capture_file::Step;

namespace {

const char* to_text(ChannelKind kind) { return kind == ChannelKind::hold ? "hold" : "sample"; }

void bind_reading(Statement& insert, const Reading& reading, bool is_state) {
  insert.bind(3, reading.t_ns);
  if (is_state) {
    insert.bind_null(4).bind_null(5).bind(6, reading.state);
  } else {
    insert.bind(4, reading.value).bind(5, reading.uncertainty).bind_null(6);
  }
  if (reading.earliest_ns == Reading::no_time) {
    insert.bind_null(7);
  } else {
    insert.bind(7, reading.earliest_ns);
  }
}

constexpr const char* insert_reading_sql =
    "INSERT INTO reading (session, channel, t_ns, value, uncertainty, state, earliest_ns)"
    " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";

// Another value, or another word, was asked for no later than the wrong one.
std::int64_t earliest_of(const Reading& corrected, const Statement& old, int column) {
  if (corrected.earliest_ns != Reading::no_time || old.is_null(column)) {
    return corrected.earliest_ns;
  }
  return old.integer(column) <= corrected.t_ns ? old.integer(column) : Reading::no_time;
}

}  // namespace

Result<std::int64_t> CaptureWriter::ensure_channel(const Channel& channel) {
  return state_->within([&]() -> Result<std::int64_t> {
    auto& database = state_->database;
    auto find =
        database.prepare("SELECT id, unit, kind FROM channel WHERE name = ?1", "table channel");
    if (!find) return find.error();
    const Step found = find->bind(1, channel.name).step();
    if (found == Step::failed) return database.error("table channel");
    if (found == Step::row) {
      if (find->text(1) == channel.unit && find->text(2) == to_text(channel.kind)) {
        return find->integer(0);
      }
      return Error{ErrorCode::usage, database.path().string() + ": channel " + channel.name +
                                         " is there already as " + find->text(2) + " in " +
                                         find->text(1) + ", not " + to_text(channel.kind) + " in " +
                                         channel.unit};
    }
    auto insert = database.prepare("INSERT INTO channel (name, unit, kind) VALUES (?1, ?2, ?3)",
                                   "table channel");
    if (!insert) return insert.error();
    insert->bind(1, channel.name).bind(2, channel.unit);
    insert->bind(3, std::string_view(to_text(channel.kind)));
    if (auto done = database.run(*insert, "table channel"); !done) return done.error();
    return database.last_row();
  });
}

Result<void> CaptureWriter::add_readings(std::int64_t session, std::int64_t channel,
                                         std::span<const Reading> readings) {
  return state_->within([&]() -> Result<void> {
    auto& database = state_->database;
    auto unit =
        database.prepare("SELECT unit = 'state' FROM channel WHERE id = ?1", "table channel");
    if (!unit) return unit.error();
    if (unit->bind(1, channel).step() != Step::row) {
      return Error{ErrorCode::usage,
                   database.path().string() + ": no channel of number " + std::to_string(channel)};
    }
    const bool is_state = unit->integer(0) != 0;
    auto insert = database.prepare(insert_reading_sql, "table reading");
    if (!insert) return insert.error();
    for (const Reading& reading : readings) {
      insert->bind(1, session).bind(2, channel);
      bind_reading(*insert, reading, is_state);
      if (auto done = database.run(*insert, "table reading"); !done) return done;
    }
    return {};
  });
}

Result<std::int64_t> CaptureWriter::add_reading(std::int64_t session, std::int64_t channel,
                                                const Reading& reading) {
  auto added = add_readings(session, channel, {&reading, 1});
  if (!added) return added.error();
  return state_->database.last_row();
}

Result<std::int64_t> CaptureWriter::supersede(std::int64_t reading, const Reading& corrected) {
  return state_->within([&]() -> Result<std::int64_t> {
    auto& database = state_->database;
    auto find = database.prepare(
        "SELECT session, channel, superseded_by, unit = 'state', earliest_ns FROM reading"
        " JOIN channel ON channel.id = reading.channel WHERE reading.id = ?1",
        "table reading");
    if (!find) return find.error();
    const std::string name = database.path().string() + ": reading " + std::to_string(reading);
    const Step found = find->bind(1, reading).step();
    if (found == Step::failed) return database.error("table reading");
    if (found == Step::done) return Error{ErrorCode::not_found, name + " is not there"};
    if (!find->is_null(2)) {
      return Error{ErrorCode::usage,
                   name + " was superseded before, by reading " + std::to_string(find->integer(2))};
    }
    auto insert = database.prepare(insert_reading_sql, "table reading");
    if (!insert) return insert.error();
    insert->bind(1, find->integer(0)).bind(2, find->integer(1));
    Reading fresh = corrected;
    fresh.earliest_ns = earliest_of(corrected, *find, 4);
    bind_reading(*insert, fresh, find->integer(3) != 0);
    if (auto done = database.run(*insert, "table reading"); !done) return done.error();
    const std::int64_t made = database.last_row();
    auto mark =
        database.prepare("UPDATE reading SET superseded_by = ?2 WHERE id = ?1", "table reading");
    if (!mark) return mark.error();
    mark->bind(1, reading).bind(2, made);
    if (auto done = database.run(*mark, "table reading"); !done) return done.error();
    return made;
  });
}

Result<void> CaptureWriter::withdraw(std::int64_t reading) {
  return state_->within([&]() -> Result<void> {
    auto& database = state_->database;
    auto mark = database.prepare(
        "UPDATE reading SET superseded_by = id WHERE id = ?1 AND superseded_by IS NULL"
        " RETURNING id",
        "table reading");
    if (!mark) return mark.error();
    const Step outcome = mark->bind(1, reading).step();
    if (outcome == Step::failed) return database.error("table reading");
    if (outcome == Step::done) {
      return Error{ErrorCode::not_found, database.path().string() + ": reading " +
                                             std::to_string(reading) +
                                             " is not there, or was superseded before"};
    }
    return {};
  });
}

Result<void> CaptureWriter::reorder(std::int64_t session, std::int64_t shift_ns) {
  return state_->within([&]() -> Result<void> {
    // SQLite's own sorter works in temporary files, so memory stays bounded.
    const std::string id = std::to_string(session);
    const std::string shift = std::to_string(shift_ns);
    const std::string script =
        "CREATE TEMP TABLE ordered AS SELECT session, t_ns + " + shift +
        " AS t_ns, bus, identifier, flags, payload FROM frame WHERE session = " + id +
        " ORDER BY frame.t_ns, rowid;"
        "DELETE FROM frame WHERE session = " +
        id +
        ";"
        "INSERT INTO frame SELECT * FROM ordered ORDER BY rowid; DROP TABLE ordered;"
        "UPDATE bus_event SET t_ns = t_ns + " +
        shift + " WHERE session = " + id +
        ";"
        "UPDATE session SET started_utc_ns = iif(started_utc_ns, started_utc_ns - " +
        shift + ", 0), origin_ns = origin_ns - " + shift + ", first_ns = first_ns + " + shift +
        ", last_ns = last_ns + " + shift +
        ", first_row = (SELECT min(rowid) FROM frame),"
        " last_row = (SELECT max(rowid) FROM frame) WHERE id = " +
        id + ";";
    return state_->database.execute(script.c_str(), "cannot put into order");
  });
}

}  // namespace foundling
