// What lies at a capture's name, or its log's, and is no file: nobody waits for it.
#include <doctest/doctest.h>
#include <sys/stat.h>
#include <unistd.h>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/capture_writer.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;

// A test that waits for ever is ended, and so fails.
struct Deadline {
  Deadline() { alarm(20); }
  ~Deadline() { alarm(0); }
};

}  // namespace

TEST_CASE("a FIFO or a device at a capture's name is refused at once, by readers and writers") {
  const Deadline deadline;
  const ScratchFolder folder;
  const fs::path fifo = folder / "tractor.capture";
  REQUIRE(mkfifo(fifo.c_str(), 0600) == 0);
  for (const fs::path& path : {fifo, fs::path("/dev/zero")}) {
    const auto reader = CaptureReader::open(path);
    REQUIRE_FALSE(reader);
    CHECK(reader.error().message == path.string() + ": no regular file, not a capture");
    CHECK_FALSE(CaptureWriter::open(path, std::chrono::milliseconds(100)));
  }
}

TEST_CASE("a FIFO in the place of a capture's log or index is refused at once") {
  const Deadline deadline;
  for (const char* end : {"-wal", "-shm", "-journal"}) {
    CAPTURE(end);
    const ScratchFolder folder;
    const fs::path path = folder / "tractor.capture";
    {
      auto writer = must(CaptureWriter::create(path));
      must(writer.begin_session({}));
      fs::copy_file(path, folder / "copy.capture");  // still marked for a log
    }
    const fs::path copy = folder / "copy.capture";
    REQUIRE(mkfifo((copy.string() + end).c_str(), 0600) == 0);
    auto reader = CaptureReader::open(copy);
    if (reader) (void)reader->sessions();
    (void)CaptureWriter::open(copy, std::chrono::milliseconds(100));
    CHECK(fs::is_fifo(copy.string() + end));
  }
}

}  // namespace foundling
