// Which values `foundling decode` writes, and with what times.
#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include "tests/house/program.h"
#include "tests/scratch_folder.h"

using foundling::ScratchFolder;
using foundling::house::lines;
using foundling::house::Ran;
using foundling::house::run_foundling;

namespace {

const std::string demo = FOUNDLING_SOURCE_DIR "/captures_demo/";
const std::string map = demo + "tractor.signals";
const std::string capture = demo + "tractor-2.capture";

std::string written(const ScratchFolder& folder, const std::string& name, const std::string& text) {
  const std::string path = (folder / name).string();
  std::ofstream(path, std::ios::binary) << text;
  return path;
}

}  // namespace

TEST_CASE("signals are chosen by *, ? and sets as a shell would, and by their name as it is") {
  const std::string decode = "decode " + capture + " " + map + " --every 1 --to 4 --no-sanity ";
  const auto heading = [&](const std::string& pattern) {
    return lines(run_foundling(decode + "--signal '" + pattern + "'").out).front();
  };
  CHECK(heading("cell_0[1-3]") == "time_s,cell_01 [V],cell_02 [V],cell_03 [V]");
  CHECK(heading("cell_?1") == "time_s,cell_01 [V],cell_11 [V],cell_21 [V]");
  CHECK(heading("pack_v*") == "time_s,pack_voltage [V]");
  CHECK(run_foundling(decode + "--signal 'CELL_01'").status == 2);
}

TEST_CASE("decode --utc writes the wall clock's time where the capture knows it") {
  const ScratchFolder folder;
  const std::string small = written(folder, "small.signals",
                                    "foundling signals 1\nmessage 200 every 1 s length 1\n"
                                    "  signal a\n    bits 0.7..0.0\n");
  // 2026-03-01 12:00:00 UTC is Unix time 1772366400.
  const std::string csv = written(folder, "frames.csv",
                                  "time_s,bus,identifier,extended,payload\n"
                                  "1772366400.250123,0,200,0,10\n"
                                  "1772366400.999999,0,200,0,11\n"
                                  "1772366401.5,0,200,0,12\n");
  const std::string made = (folder / "a.capture").string();
  REQUIRE(run_foundling("import --frames " + csv + " " + made).status == 0);
  const std::string decode = "decode " + made + " " + small + " --no-sanity --utc ";
  CHECK(run_foundling(decode).out ==
        "time_utc,signal,value,unit\n2026-03-01T12:00:00.250123Z,a,16,\n"
        "2026-03-01T12:00:00.999999Z,a,17,\n2026-03-01T12:00:01.500000Z,a,18,\n");
  const auto first =
      nlohmann::json::parse(lines(run_foundling(decode + "--format jsonl").out).front());
  CHECK(first["time_utc"] == "2026-03-01T12:00:00.250123Z");
  CHECK(first["time_s"] == 0);
  CHECK(lines(run_foundling(decode + "--every 1").out)[2] == "2026-03-01T12:00:01.250123Z,17");

  // The clock of the machine was an hour late until the network set it right.
  const std::string late =
      "sqlite3 " + made +
      " \"INSERT INTO clock (session, t_ns, wall_ns, step_ns) VALUES (1, 500, " +
      "1772370000250123500, 3600000000000)\"";
  REQUIRE(std::system(late.c_str()) == 0);
  CHECK(lines(run_foundling(decode).out)[1] == "2026-03-01T13:00:00.250123Z,a,16,");
}

TEST_CASE("decode --utc says where a capture does not know what time it was") {
  const Ran ran = run_foundling("decode --utc " + capture + " " + map);
  CHECK(ran.status == 2);
  CHECK(ran.out.empty());
  CHECK(ran.err.find("--utc: session 1 does not say what time of day it was") != std::string::npos);
}

TEST_CASE("decode --confirmed-only leaves out what nobody confirmed, and says how many") {
  const ScratchFolder folder;
  const std::string mixed = written(folder, "mixed.signals",
                                    "foundling signals 1\nmessage 1A4 length 8\n"
                                    "  signal pack_current\n    bits 0.7..1.0 signed\n"
                                    "    value = raw * 0.1 A\n    status confirmed\n"
                                    "  signal pack_voltage\n    bits 2.7..3.0\n"
                                    "    value = raw * 0.1 V\n    status proposed\n"
                                    "  signal other\n    bits 4.7..4.0\n");
  const std::string decode = "decode " + capture + " " + mixed + " --to 3 --confirmed-only ";
  const Ran ran = run_foundling(decode + "--format jsonl");
  CHECK(ran.status == 0);
  CHECK(ran.err.find("--confirmed-only: 2 of 3 signals left out, not confirmed in the map\n") !=
        std::string::npos);
  const auto rows = lines(ran.out);
  REQUIRE(rows.size() > 5);
  for (const std::string& row : rows) {
    const auto value = nlohmann::json::parse(row);
    CHECK(value["signal"] == "pack_current");
    CHECK(value["status"] == "confirmed");
  }
  CHECK(run_foundling(decode + "--signal pack_current").err.find("left out") == std::string::npos);
  const Ran none = run_foundling(decode + "--signal pack_voltage");
  CHECK(none.status == 2);
  CHECK(none.out.empty());
  CHECK(none.err.find("leaves nothing: of 1 signal the map calls none confirmed") !=
        std::string::npos);
}
