// A note in a stranger's capture leads to a file of the same recording, or nowhere.
#include "schemas/capture/rolled_chain.h"

#include <doctest/doctest.h>
#include <sys/stat.h>

#include <fstream>

#include "tests/scratch_folder.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;

}  // namespace

TEST_CASE("a rolled file's note leads to the next file of the recording") {
  const ScratchFolder folder;
  const fs::path here = folder / "my-tractor-000007.capture";
  const fs::path next = folder / "my-tractor-000008.capture";
  CHECK_FALSE(rolled_over_to(here, rolled_over_note(next)));  // not there yet
  std::ofstream(next) << "x";
  CHECK(rolled_over_to(here, rolled_over_note(next)) == next);
  CHECK_FALSE(rolled_over_to(next, rolled_over_note(here)));  // backwards
  CHECK_FALSE(rolled_over_to(here, "stopped"));
}

TEST_CASE("a note leads nowhere else") {
  const ScratchFolder folder;
  fs::create_directory(folder / "below");
  const fs::path here = folder / "below" / "tractor-000001.capture";
  for (const fs::path& other :
       {folder / "tractor-000002.capture", folder / "below" / "other-000002.capture",
        folder / "below" / "tractor-000002.text", folder / "below" / "tractor.capture"}) {
    std::ofstream(other) << "x";
  }
  fs::create_symlink(folder / "tractor-000002.capture",
                     folder / "below" / "tractor-000003.capture");
  REQUIRE(mkfifo((folder / "below" / "tractor-000004.capture").c_str(), 0600) == 0);
  const std::string words = "rolled over: the recording goes on in ";
  for (const std::string& name :
       {std::string("../tractor-000002.capture"), (folder / "tractor-000002.capture").string(),
        std::string("other-000002.capture"), std::string("tractor-000002.text"),
        std::string("tractor.capture"), std::string("tractor-000001.capture"),
        std::string("tractor-000003.capture"), std::string("tractor-000004.capture"),
        std::string("/etc/passwd"), std::string()}) {
    CAPTURE(name);
    CHECK_FALSE(rolled_over_to(here, words + name));
  }
}

}  // namespace foundling
