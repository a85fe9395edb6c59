// Another program's tables at the command line: refused in a script with the line to type, asked
// about on a terminal.
#include <doctest/doctest.h>

#include "tests/house/program.h"
#include "tests/scratch_folder.h"
#include "tests/tools/files.h"
#include "tests/tools/terminal_session.h"

namespace foundling {
namespace {

const std::string frames =
    "Time [ms];ID;D0;D1\n"
    "0,5;0x1A4;01;FF\n"
    "10,5;0x1A4;02;FE\n";
const std::string meter =
    "Time [ms];Pack voltage [V]\n"
    "1,5;92,5\n"
    "9,5;92,75\n";

}  // namespace

TEST_CASE("in a script a guess writes nothing, and the line that it prints imports the table") {
  const ScratchFolder folder;
  put(folder / "f.csv", frames);
  put(folder / "my meter.csv", meter);
  const std::string capture = (folder / "a.capture").string();
  std::string words = "import --frames " + (folder / "f.csv").string() + " --stimulus '" +
                      (folder / "my meter.csv").string() + "' " + capture;
  for (int guesses = 0; guesses < 2; ++guesses) {
    const house::Ran ran = house::run_foundling(words + " </dev/null");
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    CHECK_FALSE(std::filesystem::exists(capture));
    const std::size_t line = ran.err.find("\n  foundling import ");
    REQUIRE(line != std::string::npos);
    words = ran.err.substr(line + std::string("\n  foundling ").size());
    words.pop_back();
  }
  const house::Ran ran = house::run_foundling(words);
  CHECK(ran.status == 0);
  CHECK(ran.err.find("2 frames, 2 readings of 1 channels") != std::string::npos);
  CHECK(frames_of(capture).at(1).t_ns == 10'500'000);
}

TEST_CASE("on a terminal the guess is asked about: yes imports, Enter writes nothing") {
  const ScratchFolder folder;
  put(folder / "f.csv", frames);
  {
    TerminalSession terminal(folder.path(), "import --frames f.csv no.capture");
    REQUIRE(terminal.shows("\"ID\": identifier, hex"));
    REQUIRE(terminal.shows("Import it so?"));
    terminal.type("\n");
    CHECK(terminal.shows("--frames-layout 'separator semicolon"));
    CHECK(terminal.status() == 2);
  }
  CHECK_FALSE(std::filesystem::exists(folder / "no.capture"));
  TerminalSession terminal(folder.path(), "import --frames f.csv yes.capture");
  REQUIRE(terminal.shows("Import it so?"));
  terminal.type("perhaps\n");
  REQUIRE(terminal.shows("Import it so?"));
  terminal.type("y\n");
  CHECK(terminal.shows("2 frames"));
  CHECK(terminal.status() == 0);
  CHECK(frames_of(folder / "yes.capture").size() == 2);
}

TEST_CASE("a layout that is wrong is named by its option") {
  const ScratchFolder folder;
  put(folder / "f.csv", frames);
  const house::Ran ran =
      house::run_foundling("import --frames " + (folder / "f.csv").string() +
                           " --frames-layout 'time 1' " + (folder / "a.capture").string());
  CHECK(ran.status == 2);
  CHECK(ran.err ==
        "foundling import: error: --frames-layout: it does not say where the identifier is: "
        "identifier COLUMN hex\n");
}

}  // namespace foundling
