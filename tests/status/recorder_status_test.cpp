#include "tools/status/recorder_status.h"

#include <doctest/doctest.h>

#include "schemas/capture/capture_writer.h"
#include "schemas/capture/session_clock.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

constexpr std::int64_t ms = 1'000'000;

RecorderStatus healthy() {
  RecorderStatus status;
  status.recording = true;
  status.frames = 1000;
  status.last_frame_age_s = 0.1;
  status.last_written_age_s = 0.5;
  status.seconds_to_full = 1e6;
  return status;
}

bool has(const std::vector<std::string>& found, const std::string& part) {
  for (const std::string& one : found) {
    if (one.find(part) != std::string::npos) return true;
  }
  return false;
}

}  // namespace

TEST_CASE("a healthy recording has nothing to look at") { CHECK(troubles(healthy(), {}).empty()); }

TEST_CASE("each trouble is named, and only within its limit") {
  RecorderStatus status = healthy();
  status.last_frame_age_s = 30;
  CHECK(has(troubles(status, {}), "no frame for 30 s"));
  CHECK(troubles(status, {.silent_after_s = 60}).empty());

  status = healthy();
  status.last_gap = Gap{0, 0, 0, 12, "the socket's buffer was full"};
  status.last_gap_age_s = 30;
  CHECK(has(troubles(status, {}), "frames were lost"));
  CHECK(troubles(status, {.losses_within_s = 20}).empty());

  status = healthy();
  status.seconds_to_full = 1800;
  CHECK(has(troubles(status, {}), "the disk is full in 30 min"));
  CHECK(troubles(status, {.least_hours_left = 0.25}).empty());

  status = healthy();
  status.last_written_age_s = 60;
  CHECK(has(troubles(status, {}), "stored nothing for 60 s"));

  status = healthy();
  status.recording = false;
  CHECK(has(troubles(status, {}), "no recorder is at work"));
}

TEST_CASE("rate, load, losses and the last frame are those of the capture") {
  const ScratchFolder folder;
  const auto path = folder / "live.capture";
  auto capture = must(CaptureWriter::create(path));
  must(capture.lock_for_recording());
  SessionInfo info;
  start_session_clock(info);
  info.started_boot_ns -= 20'000 * ms;  // it began 20 s ago
  info.bit_rate = 500'000;
  const auto session = must(capture.begin_session(info));
  // 100 frames/s of 8 bytes and 11 bits for 20 s until now. Unstuffed 34 + 64 + 13 = 111 bits
  // (Davis et al. 2007), so the load is 100 * 111 / 500000 = 2.22 %.
  std::vector<Frame> frames(2000);
  for (std::size_t i = 0; i < frames.size(); ++i) {
    frames[i].t_ns = static_cast<std::int64_t>(i + 1) * 10 * ms;
    frames[i].id = CanId::standard(0x1A4);
    frames[i].length = 8;
  }
  must(capture.add_frames(session, frames));
  must(capture.add_gap(session, {1'000 * ms, 2'000 * ms, 0, 17, "the socket's buffer was full"}));
  must(capture.add_health(session, {19'900 * ms, 2000, 17, 3, 4 * ms, 0, ""}));

  const RecorderStatus status = must(recorder_status(path.string()));
  CHECK(status.recording);
  CHECK(status.frames == 2000);
  REQUIRE(status.buses.size() == 1);
  // The test itself takes time, during which nothing comes in.
  CHECK(status.buses[0].frames_per_s == doctest::Approx(100).epsilon(0.05));
  REQUIRE(status.buses[0].load);
  CHECK(*status.buses[0].load == doctest::Approx(0.0222).epsilon(0.05));
  CHECK(*status.last_frame_age_s < 5);
  CHECK(status.frames_lost == 17);
  CHECK(status.gaps == 1);
  CHECK(*status.last_gap_age_s == doctest::Approx(18).epsilon(0.3));
  CHECK(status.queued == 3);
  CHECK(status.file_bytes > 2000 * 20);
  CHECK(status.disk_left_bytes > 0);
  CHECK(status.seconds_to_full.value_or(0) > 0);
  CHECK(status_text(status, {}).find("17 frames in 1 gap") != std::string::npos);
  CHECK(status_json(status, {}).find("\"frames_lost\": 17") != std::string::npos);
}

TEST_CASE("a capture that nobody records says so, and its rate is that of its end") {
  const ScratchFolder folder;
  const auto path = folder / "done.capture";
  auto capture = must(CaptureWriter::create(path));
  SessionInfo info;
  start_session_clock(info);
  const auto session = must(capture.begin_session(info));
  must(capture.end_session(session, 5'000 * ms));
  must(capture.close());
  const RecorderStatus status = must(recorder_status(path.string()));
  CHECK_FALSE(status.recording);
  CHECK(status.frames == 0);
  CHECK_FALSE(status.last_frame_age_s);
  CHECK(has(troubles(status, {}), "no recorder is at work"));
}

TEST_CASE("what is no capture is an error") {
  const ScratchFolder folder;
  CHECK_FALSE(recorder_status((folder / "none.capture").string()).ok());
}

}  // namespace foundling
