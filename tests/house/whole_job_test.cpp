// The whole job through the built program, on the small recordings of captures_demo: signals found
// in the first session, written down, and held against the second, which they were not made from.
#include <doctest/doctest.h>

#include <fstream>
#include <sstream>

#include "tests/house/program.h"
#include "tests/scratch_folder.h"

namespace foundling::house {
namespace {

const std::string first = FOUNDLING_SOURCE_DIR "/captures_demo/tractor-1.capture";
const std::string second = FOUNDLING_SOURCE_DIR "/captures_demo/tractor-2.capture";

std::string content(const std::string& path) {
  std::ifstream in(path);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

bool replace_first(std::string& text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  if (at == std::string::npos) return false;
  text.replace(at, from.size(), to);
  return true;
}

}  // namespace

TEST_CASE("what is found in one session is written down and passes against the other") {
  const ScratchFolder folder;
  const std::string map = (folder.path() / "tractor.signals").string();
  const Ran found = run_foundling("correlate '" + first + "' --into '" + map + "'");
  CHECK(found.status == 0);
  CHECK(found.err.find("tractor.signals: written") != std::string::npos);
  CHECK(run_foundling("signals format --check '" + map + "'").status == 0);
  const std::string before = content(map);

  const Ran checked = run_foundling("check '" + map + "' '" + second + "'");
  CHECK(checked.status == 0);
  CHECK(checked.out.find("FAIL") == std::string::npos);
  const Ran decoded = run_foundling("decode '" + map + "' '" + second + "' --signal pack_current");
  CHECK(decoded.status == 0);
  CHECK(lines(decoded.out).size() > 100);

  SUBCASE("what a person confirmed and wrote stays when the same is found again") {
    std::string edited = before;
    REQUIRE(replace_first(edited, "status proposed", "status confirmed"));
    REQUIRE(replace_first(edited, "\n\n", "\n# measured at the shunt's own screws\n\n"));
    std::ofstream(map) << edited;
    const Ran again = run_foundling("correlate '" + first + "' --into '" + map + "'");
    CHECK(again.status == 0);
    CHECK(content(map).find("status confirmed") != std::string::npos);
    CHECK(content(map).find("# measured at the shunt's own screws") != std::string::npos);
  }
}

TEST_CASE("a map with errors is refused before anything is searched, and left as it is") {
  const ScratchFolder folder;
  const std::string map = (folder.path() / "broken.signals").string();
  const std::string text = "foundling signals 1\n\nmesage 1A4\n";
  std::ofstream(map) << text;
  const Ran ran = run_foundling("correlate '" + first + "' --into '" + map + "'");
  CHECK(ran.status == 2);
  CHECK(ran.out.empty());
  CHECK(ran.err.find("broken.signals:3:1: error:") != std::string::npos);
  CHECK(content(map) == text);
}

TEST_CASE("a folder that is not there is named, and nothing is left behind") {
  const ScratchFolder folder;
  const Ran ran = run_foundling("correlate '" + first + "' --into '" +
                                (folder.path() / "no" / "such.signals").string() + "'");
  CHECK(ran.status == 2);
  CHECK(ran.err.find("such.signals") != std::string::npos);
  CHECK(std::filesystem::is_empty(folder.path()));
}

}  // namespace foundling::house
