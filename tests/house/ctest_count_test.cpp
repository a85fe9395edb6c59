#include <doctest/doctest.h>

#include "tests/house/program.h"

namespace foundling::house {
namespace {

// What `ctest --verbose` prints, shortened; the shape was taken from CTest 3.25.
constexpr const char* log =
    "test 1\n"
    "    Start 1: good\n"
    "1: Test command: /usr/bin/good\n"
    "1: [doctest] test cases:  23 |  23 passed | 0 failed | 0 skipped\n"
    "1/6 Test #1: good .............................   Passed    0.03 sec\n"
    "2: boo\n"
    "2: [doctest] test cases:   9 |   7 passed | 2 failed | 0 skipped\n"
    "2/6 Test #2: bad ..............................***Failed    0.02 sec\n"
    "3/6 Test #3: plain ............................   Passed    0.01 sec\n"
    "4/6 Test #4: crash ............................***Exception: SegFault  0.01 sec\n"
    "5: no emulator here\n"
    "5/6 Test #5: skip .............................***Skipped   0.02 sec\n"
    "6/6 Test #6: slow .............................***Timeout   1.01 sec\n"
    "38% tests passed, 5 tests failed out of 8\n";

}  // namespace

TEST_CASE("the counts add up doctest cases, plain tests, crashes, time-outs and skips") {
  const Ran ran = run_awk("tools/ctest-count.awk", log);
  CHECK(ran.status == 0);
  const std::vector<std::string> said = lines(ran.out);
  REQUIRE_FALSE(said.empty());
  CHECK(said.back() == "31 4 1");  // 23 + 7 + 1 passed, 2 + crash + time-out failed, 1 skipped
}

TEST_CASE("a failed test is named with what it said, a skipped one with its reason") {
  const Ran ran = run_awk("tools/ctest-count.awk", log);
  CHECK(ran.out.find("FAILED: bad (Failed    0.02 sec)\n    boo\n") != std::string::npos);
  CHECK(ran.out.find("skipped: skip\n    no emulator here\n") != std::string::npos);
}

TEST_CASE("a log in which nothing ran counts nothing") {
  CHECK(run_awk("tools/ctest-count.awk", "No tests were found!!!\n").out == "0 0 0\n");
}

}  // namespace foundling::house
