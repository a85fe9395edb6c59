// What the writer keeps while a capture is open, and how its calls become transactions.
// For the writer's own sources only.
#pragma once

#include <optional>
#include <utility>

#include "schemas/capture/capture_writer.h"
#include "schemas/capture/database.h"
#include "schemas/capture/held_file.h"
#include "schemas/capture/recording_lock.h"

namespace foundling {

struct CaptureWriter::State {
  // Before the connection, so that they outlive it.
  std::optional<RecordingLock> lock;
  std::optional<HeldFile> held;
  capture_file::Database database;
  Purpose purpose;
  bool in_transaction = false;
  std::optional<std::filesystem::path> log_set_aside;
  capture_file::Statement insert_frame, extend_session;

  State(capture_file::Database opened, Purpose why) : database(std::move(opened)), purpose(why) {}

  Result<void> configure();

  // Runs `work` in the caller's transaction, or in one of its own.
  template <typename Work>
  auto within(Work work) -> decltype(work());

  Result<void> start(const char* doing);
  Result<void> finish(const char* doing);
  void undo();
};

template <typename Work>
auto CaptureWriter::State::within(Work work) -> decltype(work()) {
  if (in_transaction) return work();
  if (auto begun = start("cannot begin writing"); !begun) return begun.error();
  auto outcome = work();
  if (!outcome) {
    undo();
    return outcome;
  }
  if (auto done = finish("cannot write"); !done) {
    undo();
    return done.error();
  }
  return outcome;
}

}  // namespace foundling
