// What the commands print for the invented recordings, held against the schemas.
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <string>

#include "tests/house/program.h"
#include "tests/report/json_schema.h"

namespace foundling::test {
namespace {

using nlohmann::json;

const std::string demo = FOUNDLING_SOURCE_DIR "/captures_demo/";

json printed(const std::string& command_line, const std::string& schema) {
  const house::Ran ran = house::run_foundling(command_line);
  REQUIRE(ran.status == 0);
  json out = json::parse(ran.out);
  CHECK(schema_faults(project_schema(schema), out) == std::vector<std::string>{});
  return out;
}

}  // namespace

TEST_CASE("survey, correlate and check print JSON that keeps to the schemas") {
  for (const char* name : {"tractor-1.capture", "tractor-2.capture"}) {
    CAPTURE(name);
    CHECK(printed("survey --json " + demo + name, "survey")["messages"].size() == 11);
  }
  CHECK(printed("correlate --json " + demo + "tractor-1.capture", "proposals")["proposals"].size() >
        28);
  const json check =
      printed("check --json " + demo + "tractor.signals " + demo + "tractor-2.capture", "check");
  CHECK(check["signals"].size() > 28);
}

TEST_CASE(
    "what differs between two recordings is printed as JSON that keeps to its schema, status 1") {
  const std::string first = demo + "tractor-1.capture";
  const house::Ran ran =
      house::run_foundling("survey --json " + first + " --against " + demo + "tractor-2.capture");
  CHECK(ran.status == 1);
  const json out = json::parse(ran.out);
  CHECK(schema_faults(project_schema("against"), out) == std::vector<std::string>{});
  // Two bench sessions, each from power-up: the uptimes began anew, and nothing else differs.
  for (const json& difference : out["differences"]) CHECK(difference["kind"] == "restarted");
  CHECK(out["messages"] == 11);
}

TEST_CASE("a recording against itself, and a session to hold against of no capture, exit 2") {
  const std::string first = demo + "tractor-1.capture";
  for (const std::string& wrong :
       {first + " --against " + first, first + " --against-session 1",
        first + " --against " + demo + "tractor-2.capture --against-session 9",
        first + " --against " + demo + "tractor.signals"}) {
    const house::Ran ran = house::run_foundling("survey " + wrong);
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    CHECK(ran.err.find("foundling survey: error: ") == 0);
  }
}

TEST_CASE("a capture that is none, and a session that is not there, print no JSON and exit 2") {
  for (const std::string command : {"survey", "correlate"}) {
    for (const std::string& wrong :
         {demo + "tractor.signals", demo + "tractor-1.capture --session 9",
          demo + "nothing.capture"}) {
      const house::Ran ran = house::run_foundling(command + " --json " + wrong);
      CHECK(ran.status == 2);
      CHECK(ran.out.empty());
      CHECK(ran.err.find("foundling " + command + ": error: ") == 0);
    }
  }
}

}  // namespace foundling::test
