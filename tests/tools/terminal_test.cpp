// What differs on a terminal: colours, width and progress. util-linux's script(1) makes one.
#include "tools/terminal.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <iterator>

#include "tests/house/program.h"
#include "tests/scratch_folder.h"
#include "tools/progress.h"

namespace foundling {
namespace {

const std::string decode = "decode " FOUNDLING_SOURCE_DIR "/captures_demo/tractor-1.capture "  //
    FOUNDLING_SOURCE_DIR "/captures_demo/tractor.signals";

// What the terminal is sent, both streams together.
std::string on_terminal(const std::string& before, const std::string& words) {
  const ScratchFolder folder;
  const std::string out = (folder / "out").string();
  const std::string command = "env -u NO_COLOR TERM=xterm sh -c \"script -qec '" + before + " " +
                              FOUNDLING_PROGRAM + " " + words + "' /dev/null\" </dev/null >" + out;
  REQUIRE(std::system(command.c_str()) == 0);
  std::ifstream in(out);
  return {std::istreambuf_iterator<char>(in), {}};
}

bool coloured_text(const std::string& text) { return text.find("\x1b[3") != std::string::npos; }

}  // namespace

TEST_CASE("colours come on a terminal, and not with NO_COLOR, on a dumb one, or into a pipe") {
  const std::string words = decode + " >/dev/null";
  CHECK(coloured_text(on_terminal("", words)));
  const std::string plain = on_terminal("NO_COLOR=1", words);
  CHECK_FALSE(coloured_text(plain));
  CHECK(plain.find("sanity watch: ") != std::string::npos);
  CHECK(coloured_text(on_terminal("NO_COLOR=", words)));  // empty counts as not set: no-color.org
  CHECK_FALSE(coloured_text(on_terminal("TERM=dumb", words)));
  CHECK_FALSE(coloured_text(house::run_foundling(decode).err));
}

TEST_CASE("a help page is as wide as the terminal, within reason") {
  const auto widest = [](int columns) {
    std::size_t most = 0;
    const std::string page =
        on_terminal("stty cols " + std::to_string(columns) + ";", "decode --help");
    bool options = false;
    for (const std::string& line : house::lines(page)) {
      options = line.rfind("Options:", 0) == 0 || (options && line.size() > 1);
      if (options) most = std::max(most, line.size() - 1);  // a terminal's lines end in CR LF
    }
    return most;
  };
  CHECK(widest(70) <= 70);
  CHECK(widest(70) > 60);
  CHECK(widest(300) <= 100);
  CHECK(widest(300) > 90);
}

TEST_CASE("the bar is full at the end and fits into the terminal") {
  CHECK(progress_line(0, "x", 80) == "[..............................]   0 %  x");
  CHECK(progress_line(0.5, "x", 80) == "[###############...............]  50 %  x");
  CHECK(progress_line(1, "x", 80) == "[##############################] 100 %  x");
  CHECK(progress_line(7, "", 80) == progress_line(1, "", 80));
  CHECK(progress_line(0.0 / 1e-300, "a long text", 20).size() == 20);
}

}  // namespace foundling
