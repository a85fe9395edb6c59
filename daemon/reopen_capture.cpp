// What the sink does when its file is not where it was, or after a fault of its disk. A file that
// was moved is finished through the handles that are open, a new one is begun, and what went with a
// removed one becomes a gap: each frame is in one of the files, or counted.
#include <spdlog/spdlog.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <utility>

#include "daemon/capture_sink.h"
#include "daemon/recording_target.h"
#include "daemon/rolled_files.h"
#include "schemas/capture/capture_reader.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;

// Whether the frames behind this error can wait for a better time at the same name.
bool may_pass(const Error& error) {
  return error.code == ErrorCode::io || error.code == ErrorCode::full;
}

}  // namespace

std::uint64_t CaptureSink::lost_in(const std::vector<Gap>& gaps) {
  std::uint64_t lost = 0;
  for (const Gap& gap : gaps) lost += gap.frames_lost;
  return lost;
}

std::uint64_t CaptureSink::take_removed() { return std::exchange(removed_, 0); }

// A commit that failed only in its last step may yet be whole in the file's log, and comes to life
// when the file is opened again: the session then holds more than we counted, by just the batch.
bool CaptureSink::holds(const RecordBatch& batch) const {
  const std::uint64_t frames = batch.frames.size(), lost = lost_in(batch.gaps) + lost_in(owed_);
  if (frames == 0 && lost == 0) return false;
  auto reader = CaptureReader::open(file_);
  if (!reader) return false;
  const auto session = reader->session(session_);
  const auto gaps = reader->gaps(session_);
  return session && gaps && session->frames == frames_ - frames_before_ + frames &&
         lost_in(*gaps) == lost_ - lost_before_ + lost;
}

bool CaptureSink::is_displaced() {
  const FilePlace place = writer_->place();
  if (place == FilePlace::in_place) return false;
  if (place != FilePlace::moved || !writer_->moved_with_folder()) return true;
  if (!std::exchange(said_folder_moved_, true)) {
    spdlog::warn("{}: the folder was moved; the recording goes on in {}", file_.string(),
                 writer_->path_now().string());
  }
  return false;
}

// By its name alone, where a fault has closed it.
FilePlace CaptureSink::place_of_closed() const {
  struct stat named {};
  const bool ours = stat(file_.c_str(), &named) == 0 && named.st_dev == file_device_ &&
                    named.st_ino == file_number_;
  return ours ? FilePlace::in_place : FilePlace::moved;
}

// The frames of the present session, as a gap that the next one tells of.
void CaptureSink::owe_all_frames() {
  removed_ += frames_ - frames_before_;
  frames_ = frames_before_;
  for (std::size_t bus = 0; bus < of_bus_.size(); ++bus) {
    if (of_bus_[bus] == 0) continue;
    owed_.push_back({from_ns_, from_ns_, static_cast<std::uint8_t>(bus), of_bus_[bus],
                     "the file was removed while it was recorded, and its frames with it"});
  }
}

// The capture is finished where it is now; its session ends, so that nobody takes it for one that
// is still being recorded.
Result<void> CaptureSink::leave(FilePlace place, std::int64_t ended_ns) {
  const std::string now = writer_->path_now().string();
  if (place != FilePlace::removed) {
    Result<void> done = writer_->end_session(session_, ended_ns - from_ns_);
    if (done) done = writer_->leave();
    if (!done && done.error().code == ErrorCode::busy) return done;  // it is being read: again
    if (!done) {
      broken_ = true;
      writer_.reset();
      return done;
    }
  } else {
    owe_all_frames();
  }
  writer_.reset();
  if (place == FilePlace::moved) {
    spdlog::error("{}: the file was moved while it was recorded; it is whole as {}", file_.string(),
                  now);
  }
  return {};
}

// After a fault the file was closed with frames in its log, and then moved without it: the log is
// put beside it again, where it is in the same folder still.
void CaptureSink::give_log_back() const {
  const fs::path log = file_.string() + "-wal";
  struct stat about {};
  if (lstat(log.c_str(), &about) != 0 || about.st_ino != log_number_ || about.st_size == 0) return;
  std::error_code failure;
  for (const auto& entry : fs::directory_iterator(folder_of(file_), failure)) {
    struct stat found {};
    if (lstat(entry.path().c_str(), &found) != 0 || found.st_ino != file_number_ ||
        found.st_dev != file_device_) {
      continue;
    }
    fs::rename(log, entry.path().string() + "-wal", failure);
    return;
  }
}

// Under the name again, or, where something lies there that cannot be recorded into, beside it.
Result<void> CaptureSink::begin_again(std::int64_t from_ns) {
  auto begun = begin(file_, from_ns);
  if (begun || may_pass(begun.error())) return begun;
  spdlog::error("{}; recording goes on beside it", begun.error().message);
  return begin(next_file(path_), from_ns);
}

// A file that is not there is made anew only on the disk that it was on: under the mount point of a
// disk that was pulled out lies another.
Result<CaptureSink::Batch> CaptureSink::reopen(const RecordBatch& batch) {
  const bool open = writer_ && !broken_;
  fs::path old_file;
  const std::int64_t old_session = session_, old_from_ns = from_ns_;
  const FilePlace place = open ? writer_->place() : place_of_closed();
  if (open && place != FilePlace::in_place) {
    old_file = writer_->path_now();
    const std::int64_t ended_ns = std::max(from_ns_, start_of(batch));
    if (auto left = leave(place, ended_ns); !left) return left.error();
  }
  writer_.reset();  // releases its lock
  std::error_code failure;
  const bool gone = place != FilePlace::in_place;
  if (gone && !fs::exists(file_, failure)) {
    struct stat folder {};
    if (stat(folder_of(file_).c_str(), &folder) != 0 || folder.st_dev != folder_device_) {
      return Error{ErrorCode::io, file_.string() + ": the disk with this file is gone"};
    }
  }
  if (gone && !open) give_log_back();
  const Batch found = !gone && holds(batch) ? Batch::stored : Batch::missing;
  for (Gap& gap : owed_) gap.to_ns = std::max(gap.to_ns, start_of(batch));
  if (auto begun = gone ? begin_again(start_of(batch)) : begin(file_, start_of(batch)); !begun) {
    return begun.error();
  }
  if (open && place == FilePlace::moved) {
    if (auto carried =
            carry_readings_over(old_file, old_session, from_ns_ - old_from_ns, *writer_, session_);
        !carried) {
      spdlog::warn("the readings that still hold could not be carried over: {}",
                   carried.error().message);
    }
  }
  if (found == Batch::stored) {  // by the session before
    count(batch);
    begin_count();
  }
  if (place == FilePlace::log_gone) {
    spdlog::error("{}: its log was removed or replaced; recording goes on in session {}",
                  file_.string(), session_);
  } else if (gone) {
    spdlog::error("{}: the file was removed or replaced; recording goes on in {} session {}",
                  file_.string(), session_ == 1 ? "a new file," : "the file that is there,",
                  session_);
  } else {
    spdlog::warn("{}: reopened after a fault, session {}", file_.string(), session_);
  }
  return found;
}

}  // namespace foundling
