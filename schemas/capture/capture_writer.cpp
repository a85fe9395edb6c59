#include "schemas/capture/capture_writer.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <string>
#include <utility>

#include "schemas/capture/capture_file.h"
#include "schemas/capture/migration.h"
#include "schemas/capture/schema_check.h"
#include "schemas/capture/writer_state.h"

namespace foundling {

using capture_file::Access;
using capture_file::Database;
using capture_file::Statement;

namespace {

constexpr int recorder_patience_ms = 5000;

}  // namespace

Result<void> CaptureWriter::State::start(const char* doing) {
  // IMMEDIATE takes the write lock now, where waiting is possible, and not at the first write,
  // where a reader that became a writer could only fail.
  if (auto begun = database.execute("BEGIN IMMEDIATE", doing); !begun) return begun;
  in_transaction = true;
  return {};
}

Result<void> CaptureWriter::State::finish(const char* doing) {
  if (auto done = database.execute("COMMIT", doing); !done) return done;
  in_transaction = false;
  return {};
}

void CaptureWriter::State::undo() {
  // After a full disk SQLite may have rolled back by itself; then this one is refused.
  (void)database.execute("ROLLBACK", "cannot roll back");
  in_transaction = false;
}

Result<void> CaptureWriter::State::configure() {
  // FULL: in WAL mode NORMAL syncs only at checkpoints, and a power cut would take with it all that
  // was committed since. FULL syncs the log at every commit, so a power cut takes the last batch.
  const char* const settings =
      purpose == Purpose::recording
          ? "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;"
            "PRAGMA journal_size_limit = 16777216;"
          : "PRAGMA journal_mode = MEMORY; PRAGMA synchronous = OFF; PRAGMA foreign_keys = ON;"
            "PRAGMA locking_mode = EXCLUSIVE;";
  if (auto done = database.execute(settings, "cannot set up"); !done) return done;
  auto insert =
      database.prepare("INSERT INTO frame VALUES (?1, ?2, ?3, ?4, ?5, ?6)", "table frame");
  if (!insert) return insert.error();
  auto extend = database.prepare(
      "UPDATE session SET frames = frames + ?2, first_ns = min(coalesce(first_ns, ?3), ?3),"
      " last_ns = max(coalesce(last_ns, ?4), ?4), first_row = coalesce(first_row, ?5),"
      " last_row = ?6 WHERE id = ?1",
      "table session");
  if (!extend) return extend.error();
  insert_frame = std::move(insert).value();
  extend_session = std::move(extend).value();
  return {};
}

CaptureWriter::CaptureWriter(std::unique_ptr<State> state) : state_(std::move(state)) {}
CaptureWriter::CaptureWriter(CaptureWriter&&) noexcept = default;
CaptureWriter& CaptureWriter::operator=(CaptureWriter&&) noexcept = default;
CaptureWriter::~CaptureWriter() = default;

Result<CaptureWriter> CaptureWriter::create(const std::filesystem::path& path, Purpose purpose) {
  std::error_code ignored;
  std::optional<std::filesystem::path> aside;
  if (!std::filesystem::exists(std::filesystem::symlink_status(path, ignored))) {
    auto set = capture_file::set_log_aside(path);
    if (!set) return set.error();
    aside = *set;
  }
  const int file = ::open(path.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0664);
  if (file < 0) {
    const ErrorCode code = errno == EEXIST ? ErrorCode::exists : ErrorCode::io;
    return Error{code, path.string() + ": cannot create: " + std::strerror(errno)};
  }
  ::close(file);
  const auto give_up = [&](Error failure) {
    // On a failing disk SQLite may not get to remove its own files.
    for (const char* const end : {"", "-journal", "-wal", "-shm"}) {
      ::unlink((path.string() + end).c_str());
    }
    return failure;
  };
  auto database = Database::open(path, Access::read_write);
  if (!database) return give_up(database.error());
  const std::string mark =
      "PRAGMA application_id = " + std::to_string(capture_file::application_id);
  if (auto done = database->execute(mark.c_str(), "cannot create"); !done) {
    return give_up(done.error());
  }
  if (auto done = capture_file::migrate(*database, 0, capture_file::migrations()); !done) {
    return give_up(done.error());
  }
  // A reading from another process may hold the write lock when the recorder wants to commit.
  database->wait_when_busy(recorder_patience_ms);
  auto state = std::make_unique<State>(std::move(database).value(), purpose);
  state->log_set_aside = aside;
  if (auto done = state->configure(); !done) return give_up(done.error());
  return CaptureWriter(std::move(state));
}

Result<CaptureWriter> CaptureWriter::open(const std::filesystem::path& path,
                                          std::chrono::milliseconds busy_timeout) {
  if (auto looked = capture_file::check_name(path); !looked) return looked.error();
  auto database = Database::open(path, Access::read_write);
  if (!database) return database.error();
  if (auto looked = database->check_header(); !looked) return looked.error();
  database->wait_when_busy(static_cast<int>(busy_timeout.count()));
  const auto known = capture_file::migrations();
  const auto version = capture_file::checked_version(*database, known);
  if (!version) return version.error();
  if (auto same = capture_file::check_schema(*database, *version, known); !same) {
    return same.error();
  }
  if (auto done = capture_file::migrate(*database, *version, known); !done) return done.error();
  auto state = std::make_unique<State>(std::move(database).value(), Purpose::recording);
  if (auto done = state->configure(); !done) return done.error();
  return CaptureWriter(std::move(state));
}

Result<void> CaptureWriter::lock_for_recording() {
  auto lock = RecordingLock::take(state_->database.path());
  if (!lock) return lock.error();
  auto held = HeldFile::hold(state_->database.path());
  if (!held) return held.error();
  if (state_->database.has_moved()) {
    return Error{ErrorCode::io, state_->database.path().string() + ": was moved just now"};
  }
  state_->lock = std::move(lock).value();
  state_->held = std::move(held).value();
  return {};
}

FilePlace CaptureWriter::place() const {
  return state_->held ? state_->held->place() : FilePlace::in_place;
}

bool CaptureWriter::moved_with_folder() const {
  return state_->held && state_->held->moved_with_folder();
}

std::filesystem::path CaptureWriter::path_now() const {
  return state_->held ? state_->held->path_now() : state_->database.path();
}

std::optional<std::filesystem::path> CaptureWriter::log_set_aside() const {
  return state_->log_set_aside;
}

Result<void> CaptureWriter::leave() {
  if (state_->in_transaction) state_->undo();
  if (place() != FilePlace::removed) {
    if (auto folded = state_->database.fold_log_in(); !folded) return folded;
  }
  // SQLite removes the log itself only where the capture is still at its name.
  std::optional<HeldFile> held = std::exchange(state_->held, std::nullopt);
  const FilePlace left = held ? held->place() : FilePlace::in_place;
  state_.reset();
  if (!held || left == FilePlace::removed) return {};
  if (left == FilePlace::moved) held->remove_log_left_behind();
  // One plain file, as close() leaves it; where somebody else has it open, the last to close does
  // it.
  auto plain = Database::open(held->path_now(), Access::read_write);
  if (plain && !plain->has_moved()) {
    (void)plain->execute("PRAGMA journal_mode = DELETE", "cannot close");
  }
  return {};
}

Result<std::uint64_t> CaptureWriter::bytes() {
  const auto pages = state_->database.integer("PRAGMA page_count", "cannot read");
  if (!pages) return pages.error();
  const auto page = state_->database.integer("PRAGMA page_size", "cannot read");
  if (!page) return page.error();
  return static_cast<std::uint64_t>(*pages * *page);
}

void CaptureWriter::release_memory() {
  (void)state_->database.execute("PRAGMA shrink_memory", "cannot release memory");
}

Result<void> CaptureWriter::begin() { return state_->start("cannot begin writing"); }
Result<void> CaptureWriter::commit() { return state_->finish("cannot write"); }
void CaptureWriter::rollback() { state_->undo(); }

Result<void> CaptureWriter::close() {
  if (state_->in_transaction) state_->undo();
  state_->insert_frame = Statement();
  state_->extend_session = Statement();
  Result<void> outcome;
  if (state_->purpose == Purpose::recording) {
    outcome = state_->database.execute("PRAGMA wal_checkpoint(TRUNCATE)", "cannot close");
    // Leaves one plain file that opens from a read-only place too. While somebody else has the
    // capture open this is refused, and the last one to close does it.
    state_->database.wait_when_busy(0);
    (void)state_->database.execute("PRAGMA journal_mode = DELETE", "cannot close");
  }
  const std::filesystem::path path = state_->database.path();
  const bool building = state_->purpose == Purpose::building;
  state_.reset();
  if (building && outcome.ok()) outcome = capture_file::sync_to_disk(path);
  return outcome;
}

}  // namespace foundling
