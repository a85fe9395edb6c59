#include "daemon/file_policy.h"

#include <doctest/doctest.h>

namespace foundling {

TEST_CASE("rolled files are numbered, and only such names count as theirs") {
  const std::filesystem::path base = "/d/tractor.capture";
  CHECK(rolled_path(base, 1) == "/d/tractor-000001.capture");
  CHECK(rolled_path("tractor.capture", 1'234'567) == "tractor-1234567.capture");
  for (const std::uint64_t number : {1ULL, 42ULL, 999'999ULL, 1'000'000ULL}) {
    CHECK(rolled_number(base, rolled_path(base, number).filename().string()) == number);
  }
  for (const char* name :
       {"tractor.capture", "tractor-1.capture", "tractor-000000.capture",
        "tractor-000001.capture-wal", "tractor-000001.signals", "tractors-000001.capture",
        "tractor-0000001.capture", "tractor-000001-copy.capture", "tractor-+00001.capture",
        "tractor-99999999999999999999999.capture", "tractor-.capture", "-.capture", ""}) {
    CAPTURE(name);
    CHECK_FALSE(rolled_number(base, name));
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
