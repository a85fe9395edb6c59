// The commands as a person runs them, on the invented recordings in captures_demo.
#include <doctest/doctest.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <sstream>
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

std::string contents(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

// A demo recording with the readings of two channels, so that its search is over in a moment.
std::string two_channels_of(const ScratchFolder& folder, const std::string& name) {
  std::ifstream readings(demo + name + "-stimulus.csv");
  std::string kept;
  for (std::string line; std::getline(readings, line);) {
    const bool wanted = line.find(",pack_current,") != std::string::npos ||
                        line.find(",interlock,") != std::string::npos;
    if (wanted || kept.empty()) kept += line + '\n';
  }
  std::string path = (folder / (name + ".capture")).string();
  REQUIRE(run_foundling("import --frames " + demo + name + "-frames.csv --stimulus " +
                        written(folder, name + ".csv", kept) + " " + path)
              .status == 0);
  return path;
}

}  // namespace

TEST_CASE("signals check says that a good map is good, and exits 2 with the place on a bad one") {
  const ScratchFolder folder;
  CHECK(run_foundling("signals check " + map).status == 0);
  const std::string bad = written(folder, "bad.signals", "foundling signals 1\nmesage 1A4\n");
  const Ran ran = run_foundling("signals check " + map + " " + bad);
  CHECK(ran.status == 2);
  CHECK(ran.err.find("bad.signals:2:1: error: expected a keyword, found 'mesage'") !=
        std::string::npos);
  CHECK(ran.err.find("suggestion: did you mean 'message'?") != std::string::npos);
}

TEST_CASE("signals format rewrites in place, checks without writing, and leaves a bad map alone") {
  const ScratchFolder folder;
  const std::string untidy = "foundling signals 1\nmessage 1a4\n signal a # why\n  bits 0.7..0.0\n";
  const std::string tidy =
      "foundling signals 1\n\nmessage 1A4\n  signal a  # why\n    bits 0.7..0.0\n";
  const std::string path = written(folder, "a.signals", untidy);
  CHECK(run_foundling("signals format --check " + path).status == 1);
  CHECK(contents(path) == untidy);
  CHECK(run_foundling("signals format " + path).status == 0);
  CHECK(contents(path) == tidy);
  CHECK(run_foundling("signals format --check " + path).status == 0);
  CHECK(std::distance(std::filesystem::directory_iterator(folder.path()), {}) == 1);
  const std::string bad = written(folder, "bad.signals", "foundling signals 1\nfoo\n");
  CHECK(run_foundling("signals format " + bad).status == 2);
  CHECK(contents(bad) == "foundling signals 1\nfoo\n");
}

TEST_CASE("signals list --json spreads the series out") {
  const Ran ran = run_foundling("signals list --json " + map);
  CHECK(ran.status == 0);
  const auto list = nlohmann::json::parse(ran.out);
  int cells = 0;
  for (const auto& signal : list["signals"]) {
    cells +=
        signal["signal"].get<std::string>().rfind("cell_", 0) == 0 && signal["identifier"] == 0x1B0
            ? 1
            : 0;
  }
  CHECK(cells == 28);
}

TEST_CASE("decode gives the same lines whichever file comes first") {
  const Ran one = run_foundling("decode " + capture + " " + map + " --to 2");
  const Ran other = run_foundling("decode " + map + " " + capture + " --to 2");
  CHECK(one.status == 0);
  CHECK(one.out == other.out);
  CHECK(lines(one.out).front() == "time_s,signal,value,unit");
  CHECK(lines(one.out).size() > 20);
}

TEST_CASE("decode's JSON lines are JSON, reserved codes without a number in them") {
  const Ran ran = run_foundling("decode " + capture + " " + map + " --format jsonl --to 2");
  bool reserved = false;
  for (const std::string& line : lines(ran.out)) {
    const auto value = nlohmann::json::parse(line);
    REQUIRE(value.contains("time_s"));
    if (!value.contains("reserved")) continue;
    reserved = true;
    CHECK(value["value"].is_null());
  }
  CHECK(reserved);  // the board's self-test says not-available
}

TEST_CASE("decode's CSV has no value where the code is reserved") {
  const Ran ran = run_foundling("decode " + capture + " " + map + " --to 2 --signal cell_01");
  CHECK(ran.out.find(",cell_01,,V\n") != std::string::npos);
  CHECK(ran.out.find("not-available") == std::string::npos);
}

TEST_CASE("decode tells what cannot be right on stderr, and that this protects nothing") {
  const Ran ran = run_foundling("decode " + capture + " " + map + " --signal temp_1");
  CHECK(ran.status == 0);
  CHECK(ran.err.find("sanity watch: ") == 0);
  CHECK(ran.err.find("not a protection function") != std::string::npos);
  CHECK(run_foundling("decode " + capture + " " + map + " --no-sanity").err.empty());
}

TEST_CASE("decode finds a counter and a checksum that were broken in one frame") {
  const ScratchFolder folder;
  const std::string csv = written(folder, "frames.csv", [] {
    std::string text = "time_s,bus,identifier,extended,payload\n";
    for (int i = 0; i < 100; ++i) {
      char line[64];
      const int counter = (i >= 60 ? i + 3 : i) % 16;
      const int sum = (0x10 + counter + (i == 30 ? 1 : 0)) % 256;
      std::snprintf(line, sizeof line, "%d.5,0,200,0,10%02X%02X\n", i, counter, sum);
      text += line;
    }
    return text;
  }());
  const std::string small = written(folder, "small.signals",
                                    "foundling signals 1\nmessage 200 length 3\n"
                                    "  signal a\n    bits 0.7..0.0\n"
                                    "  counter bits 1.3..1.0 modulo 16\n"
                                    "  checksum bits 2.7..2.0 sum8 bytes 0..1\n");
  const std::string made = (folder / "a.capture").string();
  REQUIRE(run_foundling("import --frames " + csv + " " + made).status == 0);
  const Ran ran = run_foundling("decode " + made + " " + small);
  CHECK(ran.status == 0);
  CAPTURE(ran.err);
  CHECK(ran.err.find("sanity watch: 2 of 2 checks failed") == 0);
  CHECK(ran.err.find("did not count in 0 and skipped in 1 of 99 frames") != std::string::npos);
  CHECK(ran.err.find("does not fit in 1 of 100 frames") != std::string::npos);
}

TEST_CASE("decode --every leaves cells empty while their message is away") {
  const ScratchFolder folder;
  std::string text = "time_s,bus,identifier,extended,payload\n";
  for (int i = 0; i < 40; ++i) {
    const std::string time = std::to_string(i / 2) + (i % 2 == 0 ? ".0" : ".5");
    if (i < 10 || i >= 30) text += time + ",0,200,0,10\n";
    text += time + ",0,201,0,20\n";
  }
  const std::string csv = written(folder, "frames.csv", text);
  const std::string two = written(folder, "two.signals",
                                  "foundling signals 1\n"
                                  "message 200 every 500 ms length 1\n"
                                  "  signal a\n    bits 0.7..0.0\n"
                                  "message 201 every 500 ms length 1\n"
                                  "  signal b\n    bits 0.7..0.0\n");
  const std::string made = (folder / "a.capture").string();
  REQUIRE(run_foundling("import --frames " + csv + " " + made).status == 0);
  const auto rows = lines(run_foundling("decode " + made + " " + two + " --every 1").out);
  REQUIRE(rows.size() == 22);  // the heading, and 0 s to the first second behind 19.5 s
  CHECK(rows[0] == "time_s,a,b");
  CHECK(rows[5] == "4,16,32");
  CHECK(rows[8] == "7,16,32");  // 2.5 s after the last: five periods, just fresh
  CHECK(rows[9] == "8,,32");
  CHECK(rows[15] == "14,,32");
  CHECK(rows[16] == "15,16,32");
}

TEST_CASE("decode --every has a column a signal and a line a step") {
  const Ran ran = run_foundling("decode " + capture + " " + map +
                                " --every 1 --signal pack_current --signal 'cell_0?' --to 10");
  CHECK(ran.status == 0);
  const auto rows = lines(ran.out);
  CHECK(rows.front().rfind("time_s,pack_current [A],cell_01 [V]", 0) == 0);
  CHECK(rows.size() == 11);
  CHECK(rows[5].rfind("5,", 0) == 0);
}

TEST_CASE("no number is no step, no limit and no time") {
  for (const std::string& words :
       {std::string("decode --every=nan"), std::string("decode --from=nan"),
        std::string("decode --to=nan"), std::string("live --every=nan --metrics")}) {
    CAPTURE(words);
    const Ran ran = run_foundling(words + " " + capture + " " + map);
    CHECK(ran.status == 2);
    CHECK(ran.err.find("expected") != std::string::npos);
    CHECK(ran.out.empty());
  }
  CHECK(run_foundling("status --hours-left=nan " + capture).status == 2);
}

TEST_CASE("check passes the true map on the demo, and its JSON has the contract's fields") {
  const Ran ran = run_foundling("check --json " + map + " " + capture);
  CHECK(ran.status == 0);
  const auto result = nlohmann::json::parse(ran.out);
  CHECK(result["format"] == "foundling-check");
  CHECK(result["signals"].size() == 41);
  for (const auto& signal : result["signals"]) {
    for (const char* field : {"signal", "channel", "samples", "bias", "gain", "rms", "largest",
                              "delay_s", "tolerance", "pass"}) {
      CAPTURE(field);
      REQUIRE(signal.contains(field));
    }
    CHECK(signal["pass"] == true);
  }
}

TEST_CASE("check exits 1 when a signal fails, with the reason in the table") {
  const ScratchFolder folder;
  const std::string wrong = written(folder, "wrong.signals",
                                    "foundling signals 1\nmessage 1A4 length 8\n"
                                    "  signal pack_current\n    bits 0.7..1.0 signed\n"
                                    "    value = raw * 0.11 A\n");
  const Ran ran = run_foundling("check " + wrong + " " + capture);
  CHECK(ran.status == 1);
  CHECK(ran.out.find("\npack_current  FAIL ") != std::string::npos);
  CHECK(ran.out.find("\n    the largest error is beyond the tolerance") != std::string::npos);
  CHECK(run_foundling("check " + wrong + " " + capture + " --tolerance pack_current=100").status ==
        0);
  CHECK(run_foundling("check " + wrong + " " + capture + " --tolerance 15%").status == 0);
  CHECK(run_foundling("check " + wrong + " " + capture + " --tolerance nonsense").status == 2);
}

TEST_CASE("check tells that a map was made from a session by its content, under any name") {
  const ScratchFolder folder;
  const std::string own = (folder / "own.signals").string();
  const std::string copy = (folder / "renamed.capture").string();
  const std::string first = two_channels_of(folder, "tractor-1");
  const std::string other = two_channels_of(folder, "tractor-2");
  REQUIRE(run_foundling("correlate " + first + " --into " + own).status == 0);
  std::filesystem::rename(first, copy);
  std::filesystem::rename(other, first);
  const Ran same = run_foundling("check " + own + " " + copy);
  CHECK(same.out.find("so passing proves nothing") != std::string::npos);
  CHECK(nlohmann::json::parse(
            run_foundling("check --json " + own + " " + copy).out)["same_session"] == true);
  const Ran else_where = run_foundling("check " + own + " " + first);
  CHECK(else_where.status == 0);
  CHECK(else_where.out.find("proves nothing") == std::string::npos);
}

TEST_CASE("check writes into the map what readings bear out that was by relation alone") {
  const ScratchFolder folder;
  const std::string related =
      written(folder, "related.signals",
              "foundling signals 1\n\nmessage 1A4 length 8\n  signal pack_current\n"
              "    bits 0.7..1.0 signed\n    value = raw * 0.1 A\n    status proposed\n"
              "    seen tractor-1.capture session 1: strong\n  signal pack_voltage  # the meter's\n"
              "    bits 2.7..3.0\n    value = raw * 0.1 V\n    status proposed\n"
              "    seen tractor-1.capture session 1: by relation, scale 0.1\n");
  const Ran said = run_foundling("check " + related + " " + capture);
  CHECK(said.status == 0);
  CHECK(said.out.find("by relation alone until now, and borne out by these readings: pack_voltage\n"
                      "  --into MAP writes this into the map as evidence of its own\n") !=
        std::string::npos);
  const std::string before = contents(related);
  const Ran wrote = run_foundling("check --json " + related + " " + capture + " --into " + related);
  CHECK(wrote.status == 0);
  CHECK(nlohmann::json::parse(wrote.out)["borne_out"] == nlohmann::json{"pack_voltage"});
  std::string after = contents(related);
  const auto line = after.find("    seen tractor-2.capture session 1: checked against readings, ");
  REQUIRE(line != std::string::npos);
  after.erase(line, after.find('\n', line) + 1 - line);
  CHECK(after == before);
  // What has evidence of its own now is not borne out a second time.
  const Ran again = run_foundling("check " + related + " " + capture + " --into " + related);
  CHECK(again.out.find("borne out") == std::string::npos);
  CHECK(again.out.find("proves nothing") == std::string::npos);
  CHECK(again.err.find("nothing to write") != std::string::npos);
}

TEST_CASE("check --into a file that is no map changes nothing") {
  const ScratchFolder folder;
  const std::string bad = written(folder, "bad.signals", "nothing of the kind\n");
  const Ran ran = run_foundling("check " + map + " " + capture + " --into " + bad);
  CHECK(ran.status == 2);
  CHECK(ran.out.empty());
  CHECK(contents(bad) == "nothing of the kind\n");
}

TEST_CASE("check says by its own word what the readings cannot tell, and exits 1") {
  const ScratchFolder folder;
  const std::string frames = written(folder, "frames.csv", [] {
    std::string text = "time_s,bus,identifier,extended,payload\n";
    for (int i = 0; i < 200; ++i) {
      text += std::to_string(i / 10) + '.' + std::to_string(i % 10) + ",0,1A4,0,0CE4\n";
    }
    return text;
  }());
  const std::string readings = written(folder, "readings.csv", [] {
    std::string text = "time_s,channel,unit,value\n";
    for (int i = 0; i < 6; ++i) text += std::to_string(3 * i + 1) + ",cell_01,V,3.3\n";
    return text;
  }());
  const std::string one = (folder / "one.capture").string();
  const std::string cell = written(folder, "cell.signals",
                                   "foundling signals 1\nmessage 1A4 length 2\n"
                                   "  signal cell_01\n    bits 0.7..1.0\n"
                                   "    value = raw * 0.001 V\n");
  const Ran imported =
      run_foundling("import --frames " + frames + " --stimulus " + readings + " " + one);
  CAPTURE(imported.err);
  REQUIRE(imported.status == 0);
  const Ran ran = run_foundling("check " + cell + " " + one);
  CHECK(ran.status == 1);
  CHECK(ran.out.find("\ncell_01  not tested ") != std::string::npos);
  CHECK(ran.out.find("\n    1 plateaus; at least 5 needed\n") != std::string::npos);
  CHECK(ran.out.find("0 of 1 checked signals pass, 1 were not tested") != std::string::npos);
  const auto json = nlohmann::json::parse(run_foundling("check --json " + cell + " " + one).out);
  CHECK(json["signals"][0]["pass"] == false);
  CHECK(json["signals"][0]["tested"] == false);
  CHECK(json["signals"][0]["reason"] == "1 plateaus; at least 5 needed");
}

TEST_CASE("check names a slip with the line that would correct it, and passes the signal") {
  const ScratchFolder folder;
  const std::string copy = (folder / "slip.capture").string();
  std::filesystem::copy_file(capture, copy);
  const Ran listed = run_foundling("stimulus " + copy + " list --json");
  std::int64_t number = 0;
  double value = 0;
  int seen = 0;
  const auto readings = nlohmann::json::parse(listed.out);
  for (const auto& reading : readings["readings"]) {
    if (reading["channel"] != "pack_voltage" || ++seen != 9) continue;
    number = reading["number"];
    value = reading["value"];
  }
  std::ostringstream wrong;
  wrong << value * 10;
  const Ran slip = run_foundling("stimulus " + copy + " correct " + std::to_string(number) + " " +
                                 wrong.str() + "V --session 1");
  CAPTURE(slip.err);
  REQUIRE(slip.status == 0);
  const Ran ran = run_foundling("check " + map + " " + copy);
  CHECK(ran.status == 0);
  CHECK(ran.out.find("\n    without reading ") != std::string::npos);
  CHECK(ran.out.find(": ten times") != std::string::npos);
  CHECK(ran.out.find("\n      foundling stimulus " + copy + " correct ") != std::string::npos);
}

TEST_CASE("bad files are answered with their names and exit status 2") {
  const ScratchFolder folder;
  const std::string text = written(folder, "notes.txt", "neither\n");
  const std::string fake =
      written(folder, "fake.capture", std::string("SQLite format 3\0rubbish", 23));
  const std::string bad = written(folder, "bad.signals", "foundling signals 1\n  bits 0.7\n");
  for (const std::string command : {"decode", "check"}) {
    CAPTURE(command);
    const auto refused = [&command](const std::string& files, const std::string& message) {
      const Ran ran = run_foundling(command + " " + files);
      CAPTURE(files);
      CAPTURE(ran.err);
      CHECK(ran.status == 2);
      CHECK(ran.out.empty());
      CHECK(ran.err.find(message) != std::string::npos);
    };
    refused(map + " " + (folder / "none.capture").string(), "none.capture: cannot be opened");
    refused(map + " " + text, "notes.txt");
    refused(text + " " + text, "neither is a capture or a signal map");
    refused(capture + " " + text, "notes.txt:1:1: error: expected 'foundling signals 1'");
    refused(map + " " + fake, "fake.capture");
    refused(bad + " " + capture, "bad.signals:2:3: error: expected a message before this line");
    refused(map + " " + map, "one has to be a capture");
    refused(capture + " " + capture, "one has to be a signal map");
    refused(map + " " + capture + " --session 99", "99");
    if (command == "decode") {
      refused(map + " " + capture + " --from 3 --to 2", "--from is later than --to");
      refused(map + " " + capture + " --from nan", "--from: expected seconds");
      const std::string decode = "decode " + map + " " + capture;
      CHECK(run_foundling(decode + " --from 1e300").out ==
            run_foundling(decode + " --from 1e6").out);
      CHECK(run_foundling(decode + " --to 1e300").out == run_foundling(decode).out);
      refused(map + " " + capture + " --signal no_such_thing", "no signal 'no_such_thing'");
    }
  }
}
