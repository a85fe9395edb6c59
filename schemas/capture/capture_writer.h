// Writes a capture file (schemas/capture/README.md). Owns the connection and, while recording, the
// recorder's lock. Refuses an existing file on create, a foreign or newer file on open.
// One object belongs to one thread at a time. Every call outside begin/commit is a transaction of
// its own; a call that fails inside one leaves the transaction to be rolled back by the caller.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "schemas/capture/held_file.h"
#include "schemas/capture/rows.h"
#include "schemas/values/result.h"

namespace foundling {

class CaptureWriter {
 public:
  enum class Purpose {
    recording,  // WAL, every commit is on the disk when it returns, others may read and write
    building,   // a scratch file that is thrown away on failure: nothing is safe before close()
  };

  // Waits up to five seconds for another writer's transaction.
  static Result<CaptureWriter> create(const std::filesystem::path& path,
                                      Purpose purpose = Purpose::recording);
  // For a further session, or for a reading from another process than the recorder. Waits up to
  // busy_timeout for another writer's transaction. Migrates an older version.
  static Result<CaptureWriter> open(const std::filesystem::path& path,
                                    std::chrono::milliseconds busy_timeout);

  CaptureWriter(CaptureWriter&&) noexcept;
  CaptureWriter& operator=(CaptureWriter&&) noexcept;
  ~CaptureWriter();  // rolls back an open transaction; use close() to hear of failures

  // A second recorder on the same capture gets ErrorCode::busy, by whatever name it opened it. The
  // kernel releases the locks when the process dies; close() releases them too.
  Result<void> lock_for_recording();

  // What has become of the file's name, and of its log's, since it was locked.
  [[nodiscard]] FilePlace place() const;
  [[nodiscard]] bool moved_with_folder() const;          // then this goes on as it is
  [[nodiscard]] std::filesystem::path path_now() const;  // as the kernel knows it
  // What create() found of a capture that was moved away without its log, and kept.
  [[nodiscard]] std::optional<std::filesystem::path> log_set_aside() const;
  // In place of close() where place() is not in_place: folds the log in through the open handles,
  // and touches nothing at the old name that is not this capture's. After ErrorCode::busy (somebody
  // reads) it may be called again; the capture is still open then.
  Result<void> leave();

  // Of the whole capture, with what is still in its log.
  Result<std::uint64_t> bytes();
  // Gives back what SQLite keeps of pages it has read, until it needs them again.
  void release_memory();

  Result<void> begin();
  Result<void> commit();
  void rollback();

  Result<std::int64_t> begin_session(const SessionInfo& info);  // its id, 1..
  Result<void> end_session(std::int64_t session, std::int64_t t_ns);
  // Between begin() and commit() nobody else can end it.
  Result<bool> has_ended(std::int64_t session);
  Result<void> add_frames(std::int64_t session, std::span<const Frame> frames);
  // The channel's id. The same name with another unit or kind is an error.
  Result<std::int64_t> ensure_channel(const Channel& channel);
  Result<std::int64_t> add_reading(std::int64_t session, std::int64_t channel,
                                   const Reading& reading);  // its number
  Result<void> add_readings(std::int64_t session, std::int64_t channel,
                            std::span<const Reading> readings);
  // A valid reading is superseded by `corrected`; the new reading's id. It keeps its earliest
  // moment, unless `corrected` has one or lies before it.
  Result<std::int64_t> supersede(std::int64_t reading, const Reading& corrected);
  Result<void> withdraw(std::int64_t reading);
  Result<std::int64_t> add_mark(std::int64_t session, const Mark& mark);  // its number
  // As with readings: the valid mark is superseded by other words, or withdrawn.
  Result<std::int64_t> supersede_mark(std::int64_t mark, const std::string& text);
  Result<void> withdraw_mark(std::int64_t mark);
  Result<void> add_instrument(std::int64_t session, const InstrumentState& state);
  Result<void> add_event(std::int64_t session, const BusEvent& event);
  Result<void> add_gap(std::int64_t session, const Gap& gap);
  Result<void> add_clock(std::int64_t session, const ClockMark& mark);
  Result<void> add_health(std::int64_t session, const Health& health);

  // Puts the session's frames and events into order of time (stable), moves the session's start by
  // -shift_ns so that every t_ns grows by shift_ns. For importers, in a `building` capture.
  Result<void> reorder(std::int64_t session, std::int64_t shift_ns);

  // Folds the write-ahead log in, so that one file is left if nobody else has it open.
  Result<void> close();

 private:
  struct State;
  explicit CaptureWriter(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace foundling
