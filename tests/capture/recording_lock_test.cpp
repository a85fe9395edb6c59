// Who can keep a recorder out, and who cannot.
#include "schemas/capture/recording_lock.h"

#include <doctest/doctest.h>
#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <fstream>

#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;

// As a local user may open it who can read it and no more.
struct Stranger {
  int file;
  explicit Stranger(const fs::path& path) : file(::open(path.c_str(), O_RDONLY | O_CLOEXEC)) {
    REQUIRE(file >= 0);
  }
  ~Stranger() { ::close(file); }
  Stranger(const Stranger&) = delete;
  Stranger& operator=(const Stranger&) = delete;
};

void check_that_it_can_be_taken(const fs::path& capture) {
  {
    const RecordingLock lock = must(RecordingLock::take(capture));
    CHECK(RecordingLock::is_held(capture));
    const auto second = RecordingLock::take(capture);
    REQUIRE_FALSE(second);
    CHECK(second.error().code == ErrorCode::busy);
  }
  CHECK_FALSE(RecordingLock::is_held(capture));
}

}  // namespace

TEST_CASE(
    "a lock file that a kill left, held by somebody who may only read it, stops no recorder") {
  const ScratchFolder folder;
  const fs::path capture = folder / "tractor.capture", left = folder / "tractor.capture.recording";
  std::ofstream(left).flush();
  const Stranger stranger(left);
  REQUIRE(flock(stranger.file, LOCK_EX | LOCK_NB) == 0);
  struct flock all {};
  all.l_type = F_RDLCK;
  REQUIRE(fcntl(stranger.file, F_OFD_SETLK, &all) == 0);
  CHECK_FALSE(RecordingLock::is_held(capture));
  check_that_it_can_be_taken(capture);
}

TEST_CASE("a link, a second name or a FIFO in the place of the lock file stops no recorder") {
  const ScratchFolder folder;
  const fs::path capture = folder / "tractor.capture", lock = folder / "tractor.capture.recording";
  const fs::path other = folder / "other";
  std::ofstream(other) << "mine";
  SUBCASE("a link") { fs::create_symlink(other, lock); }
  SUBCASE("a link to nowhere") { fs::create_symlink(folder / "nowhere", lock); }
  SUBCASE("a second name") { fs::create_hard_link(other, lock); }
  SUBCASE("a FIFO") { REQUIRE(mkfifo(lock.c_str(), 0644) == 0); }
  check_that_it_can_be_taken(capture);
  CHECK(fs::file_size(other) == 4);
  CHECK_FALSE(fs::exists(folder / "nowhere"));
}

TEST_CASE("another recording's lock under a second name stops no recorder, and goes on holding") {
  const ScratchFolder folder;
  const fs::path capture = folder / "tractor.capture", other = folder / "other.capture";
  const RecordingLock elsewhere = must(RecordingLock::take(other));
  fs::create_hard_link(folder / "other.capture.recording", folder / "tractor.capture.recording");
  check_that_it_can_be_taken(capture);
  CHECK(RecordingLock::is_held(other));
}

TEST_CASE("the lock of another recorder in the meantime is not removed") {
  const ScratchFolder folder;
  const fs::path capture = folder / "tractor.capture", file = folder / "tractor.capture.recording";
  {
    const RecordingLock first = must(RecordingLock::take(capture));
    fs::rename(file, folder / "elsewhere");
    std::ofstream(file).flush();
  }
  CHECK(fs::exists(file));
}

}  // namespace foundling
