#include "daemon/file_policy.h"

#include <doctest/doctest.h>

namespace foundling {

TEST_CASE("a rolled file is named after the moment it begins") {
  // date -u -d @1700000000: Tue Nov 14 22:13:20 UTC 2023
  CHECK(rolled_path("/d/tractor.capture", 1'700'000'000'123'456'789, 0) ==
        "/d/tractor-20231114T221320Z.capture");
  CHECK(rolled_path("tractor.capture", 1'700'000'000'000'000'000, 2) ==
        "tractor-20231114T221320Z-2.capture");
}

TEST_CASE("only names of that form count as rolled files of a base") {
  const std::filesystem::path base = "/d/tractor.capture";
  CHECK(is_rolled_name(base, "tractor-20231114T221320Z.capture"));
  CHECK(is_rolled_name(base, "tractor-20231114T221320Z-2.capture"));
  for (const char* name :
       {"tractor.capture", "tractor-1.capture", "tractor-20231114T221320Z.capture-wal",
        "tractor-20231114T221320Z.signals", "tractors-20231114T221320Z.capture",
        "tractor-20231114T221320.capture", "tractor-20231114T221320Z-.capture",
        "tractor-20231114T221320Z-copy.capture", "tractor-.capture", "-.capture", ""}) {
    CAPTURE(name);
    CHECK_FALSE(is_rolled_name(base, name));
  }
}

TEST_CASE("size and age each make a roll due, and nothing does without a limit") {
  FilePolicy policy;
  CHECK_FALSE(policy.rolls());
  CHECK_FALSE(policy.roll_due(1'000'000'000'000, 1'000'000'000'000'000));
  policy.roll_bytes = 100;
  CHECK_FALSE(policy.roll_due(99, 1'000'000));
  CHECK(policy.roll_due(100, 0));
  policy.roll_bytes = 0;
  policy.roll_after_ns = 50;
  CHECK_FALSE(policy.roll_due(1'000'000, 49));
  CHECK(policy.roll_due(0, 50));
}

}  // namespace foundling
