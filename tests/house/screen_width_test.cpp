// What the programs print keeps within the width of a terminal.
#include <doctest/doctest.h>

#include <cstdlib>

#include "schemas/values/utf8.h"
#include "tests/house/program.h"

namespace foundling::house {
namespace {

const std::string demo = FOUNDLING_SOURCE_DIR "/captures_demo/";

// Only a line that is to be pasted into a shell may be longer, and a file's name.
void check_widths(const std::string& command, const std::string& text, std::size_t width) {
  for (const std::string& line : lines(text)) {
    if (line.starts_with("  foundling ")) continue;
    if (line.find("foundling stimulus ") != std::string::npos) continue;
    if (line.find(FOUNDLING_SOURCE_DIR) != std::string::npos) continue;
    CAPTURE(command);
    CAPTURE(line);
    CHECK(characters(line) <= width);
  }
}

const std::vector<std::string> screens = {
    "correlate '" + demo + "tractor-1.capture'",
    "survey '" + demo + "tractor-1.capture'",
    "survey '" + demo + "tractor-1.capture' --against '" + demo + "tractor-2.capture'",
    "check '" + demo + "tractor.signals' '" + demo + "tractor-2.capture'",
    "stimulus list '" + demo + "tractor-1.capture'",
    "status '" + demo + "tractor-1.capture'",
    "signals list '" + demo + "tractor.signals'",
    "bench plan '" + demo + "tractor.bench' --seed 4711",
    "bench next '" + demo + "tractor-1.capture' --bench '" + demo + "tractor.bench'",
    "bus list",
    "--help",
    "stimulus --help",
    "check --help"};

}  // namespace

TEST_CASE("every screen keeps within 80 columns in a pipe, and within those of a narrow terminal") {
  for (const std::string& screen : screens) {
    const Ran ran = run_foundling(screen);
    // A plan is a text file of its own, printed for want of a place.
    const bool plan = screen.starts_with("bench");
    check_widths(screen, (plan ? "" : ran.out) + ran.err, 80);
  }
  setenv("COLUMNS", "60", 1);
  for (const std::string& screen : screens) {
    const Ran ran = run_foundling(screen);
    const bool plan = screen.starts_with("bench") || screen.find("--help") != std::string::npos;
    check_widths(screen + " at 60", (plan ? "" : ran.out) + ran.err, 60);
  }
  unsetenv("COLUMNS");
}

TEST_CASE("no verdict is lost at 60 columns") {
  setenv("COLUMNS", "60", 1);
  const Ran ran = run_foundling(screens[3]);
  unsetenv("COLUMNS");
  std::size_t verdicts = 0;
  for (const std::string& line : lines(ran.out)) {
    if (line.find("  pass  ") != std::string::npos || line.ends_with("  pass")) ++verdicts;
  }
  CHECK(verdicts == 41);
}

}  // namespace foundling::house
