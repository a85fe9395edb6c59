#include "tools/walk_lock.h"

#include <doctest/doctest.h>

#include <fstream>

#include "tests/scratch_folder.h"

namespace foundling {

TEST_CASE("two walks on one capture are refused, and the end of the first leaves nothing") {
  const ScratchFolder folder;
  const auto capture = folder.path() / "pack.capture";
  {
    const auto first = WalkLock::take(capture);
    REQUIRE(first);
    const auto second = WalkLock::take(capture);
    REQUIRE_FALSE(second);
    CHECK(second.error().code == ErrorCode::busy);
    CHECK(second.error().message.find("pack.capture: another walk is at work") !=
          std::string::npos);
    CHECK(WalkLock::take(folder.path() / "other.capture"));
  }
  CHECK(std::filesystem::is_empty(folder.path()));
  CHECK(WalkLock::take(capture));
}

TEST_CASE("what a killed walk left keeps nobody out") {
  const ScratchFolder folder;
  const auto capture = folder.path() / "pack.capture";
  std::ofstream(capture.string() + ".walking");
  CHECK(WalkLock::take(capture));
}

}  // namespace foundling
