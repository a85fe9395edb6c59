#include "tools/bench_notebook.h"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <filesystem>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/session_clock.h"
#include "tools/board/session_csv.h"

namespace foundling {
namespace {

constexpr std::chrono::milliseconds patience{5000};  // with another writer of the capture

Result<SessionRow> running_session(const std::string& capture) {
  auto reader = CaptureReader::open(capture);
  if (!reader) return reader.error();
  const auto sessions = reader->sessions();
  if (!sessions) return sessions.error();
  for (auto row = sessions->rbegin(); row != sessions->rend(); ++row) {
    if (row->ended) continue;
    if (const auto now = session_now_ns(*row); !now) {
      return Error{now.error().code, capture + ": " + now.error().message};
    }
    return *row;
  }
  return Error{ErrorCode::usage,
               capture + ": no session is being recorded; start foundlingd first"};
}

}  // namespace

Result<BenchNotebook> BenchNotebook::open(const std::string& capture, const std::string& csv) {
  BenchNotebook notebook;
  if (!capture.empty()) {
    if (auto done = notebook.open_capture(capture); !done) return done.error();
  }
  if (!csv.empty()) {
    if (auto done = notebook.open_csv(csv); !done) return done.error();
  }
  return notebook;
}

Result<void> BenchNotebook::open_capture(const std::string& capture) {
  auto session = running_session(capture);
  if (!session) return session.error();
  session_ = std::move(*session);
  auto writer = CaptureWriter::open(capture, patience);
  if (!writer) return writer.error();
  writer_.emplace(std::move(*writer));
  capture_name_ = capture;
  return {};
}

Result<void> BenchNotebook::open_csv(const std::string& csv) {
  // It grows in a person's sight, so it has its name from the start; one that is taken stays.
  const int fresh = ::open(csv.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (fresh < 0 && errno == EEXIST) {
    return Error{ErrorCode::exists, csv + ": is there already; nothing was written"};
  }
  if (fresh >= 0) ::close(fresh);
  csv_.open(csv, std::ios::binary);
  if (!csv_) return Error{ErrorCode::io, csv + ": " + std::strerror(errno)};
  csv_name_ = csv;
  csv_ << board::stimulus_csv_header;
  return {};
}

Result<void> BenchNotebook::write(std::span<const Note> notes) {
  if (notes.empty()) return {};
  if (csv_.is_open()) {
    if (auto done = write_csv(notes); !done) return done;
  }
  if (writer_) return write_capture(notes);
  return {};
}

Result<void> BenchNotebook::write_csv(std::span<const Note> notes) {
  using namespace std::chrono;
  const auto now = duration_cast<nanoseconds>(system_clock::now().time_since_epoch()).count();
  for (const Note& note : notes) {
    Reading reading = note.reading;
    reading.t_ns = now;
    csv_ << board::stimulus_csv_line(*note.channel, reading);
  }
  if (!csv_.flush()) return Error{ErrorCode::io, csv_name_ + ": " + std::strerror(errno)};
  return {};
}

Result<void> BenchNotebook::write_capture(std::span<const Note> notes) {
  const std::int64_t now_ns = boottime_now_ns();
  if (auto done = writer_->begin(); !done) return done;
  const auto ended = writer_->has_ended(session_.id);
  if (!ended) return ended.error();
  if (*ended) {  // the recording has rolled over, or was begun anew
    writer_->rollback();
    if (auto done = writer_->close(); !done) return done;
    writer_.reset();
    channels_.clear();
    if (auto done = open_capture(capture_name_); !done) return done;
    if (auto done = writer_->begin(); !done) return done;
  }
  const auto now = session_now_ns(session_, now_ns);
  if (!now) return Error{now.error().code, capture_name_ + ": " + now.error().message};
  for (const Note& note : notes) {
    auto known = channels_.find(note.channel->name);
    if (known == channels_.end()) {
      const auto id = writer_->ensure_channel(*note.channel);
      if (!id) return id.error();
      known = channels_.emplace(note.channel->name, *id).first;
    }
    Reading reading = note.reading;
    reading.t_ns = *now;
    if (auto done = writer_->add_readings(session_.id, known->second, std::span(&reading, 1));
        !done) {
      return done;
    }
  }
  return writer_->commit();
}

Result<void> BenchNotebook::close() {
  if (csv_.is_open()) {
    csv_.close();
    if (!csv_) return Error{ErrorCode::io, csv_name_ + ": " + std::strerror(errno)};
  }
  if (writer_) return writer_->close();
  return {};
}

}  // namespace foundling
