// The writer's part for marks and instruments.
#include <string>

#include "schemas/capture/writer_state.h"

namespace foundling {

using capture_file::Step;

Result<std::int64_t> CaptureWriter::add_mark(std::int64_t session, const Mark& mark) {
  return state_->within([&]() -> Result<std::int64_t> {
    auto insert = state_->database.prepare(
        "INSERT INTO mark (session, t_ns, kind, text) VALUES (?1, ?2, ?3, ?4)", "table mark");
    if (!insert) return insert.error();
    insert->bind(1, session).bind(2, mark.t_ns).bind(3, mark.kind).bind(4, mark.text);
    if (auto done = state_->database.run(*insert, "table mark"); !done) return done.error();
    return state_->database.last_row();
  });
}

Result<std::int64_t> CaptureWriter::supersede_mark(std::int64_t mark, const std::string& text) {
  return state_->within([&]() -> Result<std::int64_t> {
    auto& database = state_->database;
    auto find = database.prepare(
        "SELECT session, t_ns, kind, superseded_by FROM mark WHERE id = ?1", "table mark");
    if (!find) return find.error();
    const std::string name = database.path().string() + ": mark " + std::to_string(mark);
    const Step found = find->bind(1, mark).step();
    if (found == Step::failed) return database.error("table mark");
    if (found == Step::done) return Error{ErrorCode::not_found, name + " is not there"};
    if (!find->is_null(3)) return Error{ErrorCode::usage, name + " was superseded before"};
    const auto made = add_mark(find->integer(0), {find->integer(1), find->text(2), text});
    if (!made) return made.error();
    auto point = database.prepare("UPDATE mark SET superseded_by = ?2 WHERE id = ?1", "table mark");
    if (!point) return point.error();
    point->bind(1, mark).bind(2, *made);
    if (auto done = database.run(*point, "table mark"); !done) return done.error();
    return *made;
  });
}

Result<void> CaptureWriter::withdraw_mark(std::int64_t mark) {
  return state_->within([&]() -> Result<void> {
    auto& database = state_->database;
    auto point = database.prepare(
        "UPDATE mark SET superseded_by = id WHERE id = ?1 AND superseded_by IS NULL RETURNING id",
        "table mark");
    if (!point) return point.error();
    const Step outcome = point->bind(1, mark).step();
    if (outcome == Step::failed) return database.error("table mark");
    if (outcome == Step::row) return {};
    return Error{ErrorCode::not_found, database.path().string() + ": mark " + std::to_string(mark) +
                                           " is not there, or was superseded before"};
  });
}

Result<void> CaptureWriter::add_instrument(std::int64_t session, const InstrumentState& state) {
  return state_->within([&]() -> Result<void> {
    auto insert = state_->database.prepare(
        "INSERT INTO instrument (session, t_ns, name, state, identity, readings, refused, detail)"
        " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        "table instrument");
    if (!insert) return insert.error();
    insert->bind(1, session).bind(2, state.t_ns).bind(3, state.name).bind(4, state.state);
    insert->bind(5, state.identity).bind(6, static_cast<std::int64_t>(state.readings));
    insert->bind(7, static_cast<std::int64_t>(state.refused)).bind(8, state.detail);
    return state_->database.run(*insert, "table instrument");
  });
}

}  // namespace foundling
