#include "tools/live/capture_follower.h"

#include <sys/stat.h>

#include <utility>

#include "schemas/capture/rolled_chain.h"
#include "schemas/capture/session_clock.h"

namespace foundling {
namespace {

constexpr std::size_t most_frames = 8192;
constexpr std::int64_t look_every_ns = 200'000'000;
constexpr std::int64_t clock_every_ns = 5'000'000'000;

}  // namespace

CaptureFollower::CaptureFollower(std::filesystem::path path, CaptureReader reader)
    : path_(std::move(path)), file_(path_), reader_(std::move(reader)) {}

Result<CaptureFollower> CaptureFollower::open(const std::filesystem::path& path, Start start,
                                              std::optional<std::int64_t> session) {
  auto reader = CaptureReader::open(path);
  if (!reader) return reader.error();
  CaptureFollower follower(path, std::move(reader).value());
  follower.note_identity();
  auto found = follower.reader_.session(session);
  if (!found) return found.error();
  if (!session) {  // the newest one is followed, also where no frame came yet
    auto all = follower.reader_.sessions();
    if (!all) return all.error();
    if (all->back().id > found->id && start == Start::with_what_comes) found = all->back();
  }
  follower.first_ = found->info;
  if (auto entered = follower.enter(*found); !entered) return entered.error();
  if (start == Start::with_what_comes) follower.row_ = found->last_row;
  return follower;
}

Result<void> CaptureFollower::enter(const SessionRow& session) {
  session_ = session;
  row_ = 0;
  left_ = false;
  const SessionInfo& here = session.info;
  const bool same_boot = !here.boot_id.empty() && here.boot_id == first_.boot_id;
  shift_ns_ = same_boot ? here.started_boot_ns - first_.started_boot_ns
              : here.started_utc_ns != 0 && first_.started_utc_ns != 0
                  ? here.started_utc_ns - first_.started_utc_ns
                  : shift_ns_;
  wall_offset_ns_ = here.started_utc_ns;
  clock_again_ns_ = 0;
  refresh_clock();
  return {};
}

// The recorder marks every step of the wall clock; the newest mark counts.
void CaptureFollower::refresh_clock() {
  const std::int64_t now = boottime_now_ns();
  if (now < clock_again_ns_) return;
  clock_again_ns_ = now + clock_every_ns;
  const auto marks = reader_.clock_marks(session_.id);
  if (marks && !marks->empty()) wall_offset_ns_ = marks->back().wall_ns - marks->back().t_ns;
}

Result<std::span<const Frame>> CaptureFollower::next() {
  frames_.clear();
  auto last = reader_.frames_after(session_.id, row_, [this](const Frame& frame) {
    frames_.push_back(frame);
    frames_.back().t_ns += shift_ns_;
    return frames_.size() < most_frames;
  });
  if (!last) {
    frames_.clear();
    return last.error();
  }
  row_ = *last;
  refresh_clock();
  if (frames_.empty()) {
    if (auto moved = move_on(); !moved) return moved.error();
  }
  return std::span<const Frame>(frames_);
}

Result<bool> CaptureFollower::move_on() {
  const std::int64_t now = boottime_now_ns();
  if (now < look_again_ns_) return false;
  look_again_ns_ = now + look_every_ns;
  auto all = reader_.sessions();
  if (!all) return all.error();
  for (const SessionRow& row : *all) {
    if (row.id < session_.id) continue;
    if (row.id == session_.id) {
      session_ = row;
      if (row.last_row > row_) return false;  // stored since we looked
      continue;
    }
    news_.push_back("the recording goes on in session " + std::to_string(row.id));
    if (auto entered = enter(row); !entered) return entered.error();
    look_again_ns_ = 0;
    return true;
  }
  if (const auto health = reader_.last_health(session_.id); health && *health) {
    const auto following = rolled_over_to(file_, (*health)->note);
    if (session_.ended && following) {
      return move_to_file(*following, "the recording goes on in " + following->string());
    }
  }
  // The recorder may have stored its last frames here just before it left: looked at once more.
  if (!std::exchange(left_, is_replaced()) || !left_) return false;
  return move_to_file(path_, path_.string() + " is another file now: going on in it");
}

Result<bool> CaptureFollower::move_to_file(const std::filesystem::path& file,
                                           const std::string& why) {
  auto reader = CaptureReader::open(file);
  if (!reader) return reader.error();
  auto sessions = reader->sessions();
  if (!sessions) return sessions.error();
  if (sessions->empty()) return false;  // its first session is still to come
  reader_ = std::move(reader).value();
  file_ = file;
  note_identity();
  news_.push_back(why);
  if (auto entered = enter(sessions->front()); !entered) return entered.error();
  look_again_ns_ = 0;
  return true;
}

void CaptureFollower::note_identity() {
  // A link is followed to the file of this moment, which the recorder may be leaving.
  std::error_code failed;
  const auto real = std::filesystem::canonical(file_, failed);
  if (!failed) file_ = real;
  struct stat about {};
  if (stat(file_.c_str(), &about) != 0) return;
  device_ = about.st_dev;
  inode_ = about.st_ino;
}

bool CaptureFollower::is_replaced() const {
  struct stat about {};
  if (stat(path_.c_str(), &about) != 0) return false;  // away: it may come back
  return about.st_dev != device_ || about.st_ino != inode_;
}

std::vector<std::string> CaptureFollower::news() { return std::exchange(news_, {}); }

std::optional<std::int64_t> CaptureFollower::now_ns() const {
  if (first_.started_boot_ns == 0 || first_.boot_id != this_boot_id()) return {};
  return boottime_now_ns() - first_.started_boot_ns;
}

std::int64_t CaptureFollower::utc_ns(std::int64_t t_ns) const {
  return wall_offset_ns_ == 0 ? 0 : wall_offset_ns_ + t_ns - shift_ns_;
}

}  // namespace foundling
