#include "daemon/capture_sink.h"

#include <spdlog/spdlog.h>
#include <sys/stat.h>
#include <sys/statvfs.h>

#include <algorithm>
#include <array>
#include <utility>

#include "daemon/recording_target.h"
#include "daemon/rolled_files.h"
#include "schemas/capture/capture_reader.h"
#include "schemas/capture/rolled_chain.h"
#include "schemas/capture/session_clock.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;

constexpr std::int64_t retry_roll_after_ns = 10'000'000'000;

// Tells one file from another on the same disk; 0: not there.
std::uint64_t number_of_log(const fs::path& capture) {
  struct stat about {};
  return lstat((capture.string() + "-wal").c_str(), &about) == 0 ? about.st_ino : 0;
}

// When the batch was about: the time of its last record.
std::int64_t time_of(const RecordBatch& batch) {
  std::int64_t last = 0;
  if (!batch.frames.empty()) last = batch.frames.back().t_ns;
  if (!batch.health.empty()) last = std::max(last, batch.health.back().t_ns);
  if (!batch.clock.empty()) last = std::max(last, batch.clock.back().t_ns);
  if (!batch.readings.empty()) last = std::max(last, batch.readings.back().reading.t_ns);
  return last;
}

std::string mebibytes(std::uint64_t bytes) { return std::to_string(bytes >> 20U) + " MiB"; }

}  // namespace

// When its frames begin, so that none lies before the start of the session that it opens.
std::int64_t CaptureSink::start_of(const RecordBatch& batch) {
  return batch.frames.empty() ? time_of(batch) : batch.frames.front().t_ns;
}

CaptureSink::CaptureSink(fs::path path, const FilePolicy& policy, const SessionInfo& info)
    : path_(std::move(path)), policy_(policy), first_(info) {}

Result<std::unique_ptr<CaptureSink>> CaptureSink::open(const fs::path& path,
                                                       const FilePolicy& policy,
                                                       const SessionInfo& info) {
  std::unique_ptr<CaptureSink> sink(new CaptureSink(path, policy, info));
  fs::path file = path;
  if (policy.rolls()) {
    auto present = present_file(path);
    if (!present) return present.error();
    file = *present;
  }
  if (auto begun = sink->begin(file, 0); !begun) return begun.error();
  if (policy.rolls()) {
    if (auto linked = point_to(path, file); !linked) return linked.error();
  }
  return sink;
}

// Opens or makes the file and begins a session that starts at from_ns.
Result<void> CaptureSink::begin(const fs::path& file, std::int64_t from_ns) {
  auto capture = open_capture(file);
  if (!capture) return capture.error();
  SessionInfo info = first_;
  if (from_ns != 0) {
    SessionInfo now;
    start_session_clock(now);
    info.started_boot_ns = first_.started_boot_ns + from_ns;
    info.started_utc_ns = now.started_utc_ns - (now.started_boot_ns - info.started_boot_ns);
    info.origin_ns = info.started_utc_ns;
  }
  const auto session = capture->begin_session(info);
  if (!session) return session.error();
  struct stat folder {};
  struct stat named {};
  if (stat(folder_of(file).c_str(), &folder) == 0) folder_device_ = folder.st_dev;
  if (stat(file.c_str(), &named) == 0) {
    file_device_ = named.st_dev;
    file_number_ = named.st_ino;
  }
  file_ = file;
  log_number_ = number_of_log(file);
  if (const auto aside = capture->log_set_aside()) {
    spdlog::warn(
        "{}: the log of a capture that was moved away without it; beside that capture, "
        "with -wal behind its name, it is read again",
        aside->string());
  }
  writer_ = std::move(*capture);
  session_ = *session;
  from_ns_ = from_ns;
  begin_count();
  broken_ = false;
  return {};
}

bool CaptureSink::roll_is_due(std::int64_t now_ns) {
  if (!policy_.rolls() || now_ns < no_roll_before_ns_ || frames_ == frames_before_) return false;
  const auto bytes = writer_->bytes();
  return policy_.roll_due(bytes ? *bytes : 0, now_ns - from_ns_);
}

// A disk that the kernel made read-only after a fault may still take writes into its cache and
// never bring them down, with no error for anybody; so it is asked before each commit.
Result<void> CaptureSink::check_disk() const {
  struct statvfs disk {};
  if (statvfs(folder_of(file_).c_str(), &disk) != 0) return {};
  if ((disk.f_flag & ST_RDONLY) != 0) {
    return Error{ErrorCode::io, file_.string() + ": the disk is read-only now"};
  }
  const std::uint64_t available = std::uint64_t{disk.f_bavail} * disk.f_frsize;
  if (available >= policy_.reserve_bytes) return {};
  return Error{ErrorCode::full, file_.string() + ": the disk has only " + mebibytes(available) +
                                    " left, and " + mebibytes(policy_.reserve_bytes) +
                                    " are left alone (--disk-reserve)"};
}

Result<void> CaptureSink::store(const RecordBatch& batch) {
  const std::int64_t now_ns = time_of(batch);
  if (broken_ || !writer_ || is_displaced()) {
    const auto opened = reopen(batch);
    if (!opened) return opened.error();
    if (*opened == Batch::stored) return {};
  }
  if (auto good = check_disk(); !good) return good;
  if (roll_is_due(now_ns)) {
    if (auto rolled = roll(start_of(batch)); !rolled) {
      spdlog::error("cannot roll over to a new file, going on in the old one: {}",
                    rolled.error().message);
      no_roll_before_ns_ = now_ns + retry_roll_after_ns;
    }
  }
  Result<void> outcome = writer_->begin();
  if (outcome) {
    outcome = add_all(batch);
    if (outcome) outcome = writer_->commit();
    if (!outcome) writer_->rollback();
  }
  if (!outcome) {
    broken_ = outcome.error().code != ErrorCode::busy && outcome.error().code != ErrorCode::full;
    if (broken_) writer_.reset();  // before the fault is told, so that the disk can be unmounted
    return outcome;
  }
  count(batch);
  return {};
}

void CaptureSink::begin_count() {
  of_bus_.fill(0);
  frames_before_ = frames_;
  lost_before_ = lost_;
}

void CaptureSink::count(const RecordBatch& batch) {
  for (const Frame& frame : batch.frames) ++of_bus_[frame.bus];
  frames_ += batch.frames.size();
  lost_ += lost_in(batch.gaps) + lost_in(owed_);
  owed_.clear();
}

Result<void> CaptureSink::roll(std::int64_t now_ns) {
  const fs::path old_file = file_;
  const std::int64_t old_session = session_, old_from_ns = from_ns_;
  std::optional<CaptureWriter> old = std::exchange(writer_, std::nullopt);
  // Who wants to write a reading into the old file meanwhile waits, and then finds its session
  // ended: what comes after the readings were carried over belongs into the new one.
  if (auto alone = old->begin(); !alone) {
    writer_ = std::move(old);
    return alone.error();
  }
  const auto go_back = [&](const Error& error) -> Result<void> {
    old->rollback();
    writer_ = std::move(old);
    return error;
  };
  const std::uint64_t old_frames = frames_ - frames_before_, old_lost = lost_ - lost_before_;
  old->release_memory();  // two files open must not need twice the memory
  const fs::path file = next_file(path_);
  if (auto begun = begin(file, now_ns); !begun) return go_back(begun.error());
  // From here on the new file counts, whatever becomes of the old one's last words.
  if (auto carried =
          carry_readings_over(old_file, old_session, now_ns - old_from_ns, *writer_, session_);
      !carried) {
    spdlog::warn("the readings that still hold could not be carried over: {}",
                 carried.error().message);
  }
  if (auto linked = point_to(path_, file); !linked) spdlog::error("{}", linked.error().message);
  Health last{now_ns - old_from_ns, old_frames, old_lost, 0, 0, 0, {}};
  last.note = rolled_over_note(file);
  Result<void> ended = old->add_health(old_session, last);
  if (ended) ended = old->end_session(old_session, now_ns - old_from_ns);
  if (ended) ended = old->commit();
  if (ended) ended = old->close();
  if (!ended) spdlog::error("{}", ended.error().message);
  spdlog::info("rolled over to {}", file.string());
  if (policy_.keep == 0) return {};
  for (const fs::path& removed : remove_oldest(path_, policy_.keep)) {
    spdlog::info("removed {}, as only {} files are to be kept", removed.string(), policy_.keep);
  }
  return {};
}

// Moved a few at a time: a second batch would be as large again.
Result<void> CaptureSink::add_frames(std::span<const Frame> frames) {
  if (from_ns_ == 0) return writer_->add_frames(session_, frames);
  std::array<Frame, 256> moved;
  while (!frames.empty()) {
    const auto few = frames.first(std::min(frames.size(), moved.size()));
    std::ranges::copy(few, moved.begin());
    const auto now = std::span(moved).first(few.size());
    for (Frame& frame : now) frame.t_ns -= from_ns_;
    if (auto added = writer_->add_frames(session_, now); !added) return added;
    frames = frames.subspan(few.size());
  }
  return {};
}

Result<void> CaptureSink::add_all(const RecordBatch& batch) {
  Result<void> outcome = add_frames(batch.frames);
  const auto add_each = [&](const auto& rows, auto move, auto add) {
    for (auto row : rows) {
      if (!outcome) return;
      move(row);
      outcome = ((*writer_).*add)(session_, row);
    }
  };
  const auto move_time = [this](auto& row) { row.t_ns -= from_ns_; };
  const auto move_gap = [this](Gap& gap) {
    gap.from_ns -= from_ns_;
    gap.to_ns -= from_ns_;
  };
  const auto move_health = [this](Health& health) {
    health.t_ns -= from_ns_;
    health.frames -= std::min(health.frames, frames_before_);
    health.lost -= std::min(health.lost, lost_before_);
  };
  add_each(batch.events, move_time, &CaptureWriter::add_event);
  add_each(batch.gaps, move_gap, &CaptureWriter::add_gap);
  add_each(owed_, move_gap, &CaptureWriter::add_gap);
  add_each(batch.clock, move_time, &CaptureWriter::add_clock);
  add_each(batch.health, move_health, &CaptureWriter::add_health);
  add_each(batch.instruments, move_time, &CaptureWriter::add_instrument);
  if (outcome) outcome = add_readings(batch.readings);
  return outcome;
}

// A channel that somebody has made otherwise meanwhile must not keep frames from being stored: its
// readings are left out, which is said once.
Result<void> CaptureSink::add_readings(const std::vector<ChannelReading>& readings) {
  for (ChannelReading one : readings) {
    const auto channel = writer_->ensure_channel(one.channel);
    if (!channel && channel.error().code == ErrorCode::usage) {
      if (refused_channels_.insert(one.channel.name).second) {
        spdlog::error("readings are left out: {}", channel.error().message);
      }
      continue;
    }
    if (!channel) return channel.error();
    one.reading.t_ns -= from_ns_;
    if (one.reading.earliest_ns != Reading::no_time) one.reading.earliest_ns -= from_ns_;
    if (auto added = writer_->add_readings(session_, *channel, {&one.reading, 1}); !added) {
      return added;
    }
  }
  return {};
}

Result<void> CaptureSink::finish(std::int64_t ended_ns) {
  if (writer_ && writer_->place() == FilePlace::removed) {
    // What went with it is told in a file of its own.
    if (auto told = store({}); !told) return told;
  }
  if (!writer_) return {};
  if (auto ended = writer_->end_session(session_, ended_ns - from_ns_); !ended) return ended;
  if (writer_->place() == FilePlace::in_place) return writer_->close();
  Result<void> left = writer_->leave();
  for (int more = 0; !left && left.error().code == ErrorCode::busy && more < 3; ++more) {
    left = writer_->leave();  // each waits for whoever reads it
  }
  return left;
}

}  // namespace foundling
