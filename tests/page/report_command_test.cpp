// `foundling report` as a person types it: what it writes, and that faults leave nothing behind.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <sstream>

#include "tests/house/program.h"
#include "tests/scratch_folder.h"

namespace foundling::house {
namespace {

const std::string demo = std::string(FOUNDLING_SOURCE_DIR) + "/captures_demo/";

std::string text_of(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

void write(const std::filesystem::path& path, const std::string& text) {
  std::ofstream(path, std::ios::binary) << text;
}

std::string quoted(const std::filesystem::path& path) { return "'" + path.string() + "'"; }

Ran report(const std::string& words) { return run_foundling("report " + words); }

}  // namespace

TEST_CASE("a report is one file that asks nobody for anything, with the safety words in it") {
  const ScratchFolder folder;
  const auto out = folder / "report.html";
  const Ran ran = report("--map " + demo + "tractor.signals --check " + demo +
                         "tractor-2.capture " + demo + "tractor-1.capture " + quoted(out));
  CHECK(ran.status == 0);
  CHECK(ran.err.find("no intervals, no chances and no advice") != std::string::npos);
  CHECK(ran.out.find("11 messages") != std::string::npos);
  const std::string page = text_of(out);
  CHECK(page.compare(0, 15, "<!doctype html>") == 0);
  CHECK(page.find("never a protection function") != std::string::npos);
  CHECK(page.find("default-src 'none'") != std::string::npos);
  for (const char* loading : {" src=", "<link", "@import", "url("}) {
    CAPTURE(loading);
    CHECK(page.find(loading) == std::string::npos);
  }
  const std::filesystem::directory_iterator files(folder.path());
  CHECK(std::distance(begin(files), end(files)) == 1);
}

TEST_CASE("the page of a search is the page of its proposals") {
  const ScratchFolder folder;
  const auto proposals = folder / "proposals.json";
  const std::string capture = demo + "tractor-1.capture";
  const Ran found = run_foundling("correlate --json " + capture);
  REQUIRE(found.status == 0);
  write(proposals, found.out);
  const auto searched = folder / "searched.html";
  const auto drawn = folder / "drawn.html";
  const Ran with_search = report("--search " + capture + " " + quoted(searched));
  const Ran with_file =
      report("--proposals " + quoted(proposals) + " " + capture + " " + quoted(drawn));
  CHECK(with_search.status == 0);
  CHECK(with_file.status == 0);
  CHECK(with_file.err == "");
  CHECK(text_of(drawn) == text_of(searched));
  CHECK(text_of(drawn).find("\"searched\":true") != std::string::npos);

  SUBCASE("beside another session it is said, on stderr and on the page") {
    const Ran other = report("--proposals " + quoted(proposals) + " " + demo +
                             "tractor-2.capture " + quoted(drawn));
    CHECK(other.status == 0);
    CHECK(other.err.find("the proposals were found in 6504 frames") != std::string::npos);
    CHECK(text_of(drawn).find("the proposals were found in 6504 frames") != std::string::npos);
  }
  SUBCASE("of messages that the session has not, there is no page") {
    std::string changed = found.out;
    const auto at = changed.find("\"identifier\": ");
    changed.replace(at, changed.find(',', at) - at, "\"identifier\": 3");
    write(proposals, changed);
    std::filesystem::remove(drawn);
    const Ran other =
        report("--proposals " + quoted(proposals) + " " + capture + " " + quoted(drawn));
    CHECK(other.status == 2);
    CHECK(other.err.find("proposals.json: proposals[0]: proposals of another recording: "
                         "tractor-1.capture session 1 has no message 003 on bus 0") !=
          std::string::npos);
    CHECK_FALSE(std::filesystem::exists(drawn));
  }
}

TEST_CASE("without proposals the page is made, and says what is missing and what makes it") {
  const ScratchFolder folder;
  const auto out = folder / "report.html";
  const Ran ran = report(demo + "tractor-1.capture " + quoted(out));
  CHECK(ran.status == 0);
  CHECK(ran.out.find("11 messages, 0 signals") != std::string::npos);
  CHECK(ran.err.find("`foundling correlate " + demo +
                     "tractor-1.capture --json > proposals.json`") != std::string::npos);
  CHECK(text_of(out).find("\"searched\":false") != std::string::npos);
}

TEST_CASE("what differs in another recording is on the page, as the survey's JSON has it") {
  const ScratchFolder folder;
  const auto out = folder / "report.html";
  const std::string capture = demo + "tractor-1.capture";
  const std::string other = demo + "tractor-2.capture";
  const Ran surveyed = run_foundling("survey --json " + capture + " --against " + other);
  REQUIRE(surveyed.status == 1);
  const auto differences = nlohmann::json::parse(surveyed.out).at("differences");
  REQUIRE_FALSE(differences.empty());
  const Ran ran = report(capture + " " + quoted(out) + " --against " + other);
  CHECK(ran.status == 0);
  CHECK(ran.out.find(" signals, " + std::to_string(differences.size()) + " differences\n") !=
        std::string::npos);
  const std::string page = text_of(out);
  for (const auto& difference : differences) {
    const std::string words = difference.at("words").dump();
    CAPTURE(words);
    CHECK(page.find("\"words\":" + words) != std::string::npos);
  }

  SUBCASE("the same recording is no other one, and no page is made") {
    std::filesystem::remove(out);
    const Ran same = report(capture + " " + quoted(out) + " --against " + capture);
    CHECK(same.status == 2);
    CHECK(same.err.find("foundling report: error: " + capture +
                        ": session 1 is the same recording as the first; choose another with "
                        "--against-session\n") != std::string::npos);
    CHECK_FALSE(std::filesystem::exists(out));
  }
}

TEST_CASE("a check that fails is on the page, and the exit status says so") {
  const ScratchFolder folder;
  const auto map = folder / "wrong.signals";
  write(map,
        "foundling signals 1\n\nmessage 1A4\n  signal pack_current\n    bits 0.7..1.0 signed\n"
        "    value = raw * 0.2 A\n");
  const auto out = folder / "report.html";
  const Ran ran = report("--map " + quoted(map) + " --check " + demo + "tractor-2.capture " + demo +
                         "tractor-1.capture " + quoted(out));
  CHECK(ran.status == 1);
  CHECK(text_of(out).find("\"pass\":false") != std::string::npos);
}

TEST_CASE("a capture named in the page's place is not written over") {
  const ScratchFolder folder;
  const auto capture = folder / "bench.capture";
  std::filesystem::copy_file(demo + "tractor-1.capture", capture);
  const std::string before = text_of(capture);
  const Ran ran = report(quoted(capture) + " " + quoted(capture));
  CHECK(ran.status == 2);
  CHECK(ran.err.find("is no HTML page, so it stays") != std::string::npos);
  CHECK(text_of(capture) == before);
}

TEST_CASE("bad input is named with its place, and no page is left or changed") {
  const ScratchFolder folder;
  const auto out = folder / "report.html";
  const std::string old_page = "<!DOCTYPE html><p>of yesterday";
  const auto fault_of = [&](const std::string& words) {
    write(out, old_page);
    const Ran ran = report(words + " " + quoted(out));
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    CHECK(text_of(out) == old_page);
    return ran.err;
  };
  CHECK(fault_of("no-such.capture").find("no-such.capture: ") != std::string::npos);
  CHECK(fault_of(demo + "tractor.signals").find("tractor.signals: ") != std::string::npos);
  CHECK(fault_of(demo + "tractor-1.capture --session 9").find("no session 9") != std::string::npos);
  const auto map = folder / "bad.signals";
  write(map, "foundling signals 1\n\nmessage 1A4\n  signal a\n    bits 0.9..1.0\n");
  CHECK(
      fault_of("--map " + quoted(map) + " " + demo + "tractor-1.capture").find("bad.signals:5:") !=
      std::string::npos);
  const auto proposals = folder / "bad.json";
  write(proposals, "{\n  \"format\": \"foundling-proposals\",\n");
  CHECK(fault_of("--proposals " + quoted(proposals) + " " + demo + "tractor-1.capture")
            .find("bad.json:3:1: expected JSON, found none") != std::string::npos);
  CHECK(fault_of("--proposals no-such.json " + demo + "tractor-1.capture").find("no-such.json: ") !=
        std::string::npos);
  CHECK(fault_of("--proposals " + demo + "tractor.signals " + demo + "tractor-1.capture")
            .find("tractor.signals:1:") != std::string::npos);
  CHECK(fault_of("--search --proposals " + quoted(proposals) + " " + demo + "tractor-1.capture")
            .find("--search") != std::string::npos);
  CHECK(
      fault_of("--check no-such.capture " + demo + "tractor-1.capture").find("no-such.capture: ") !=
      std::string::npos);
  const auto cut = folder / "cut.capture";
  write(cut, text_of(demo + "tractor-1.capture").substr(0, 30000));
  CHECK(fault_of(quoted(cut)).find("cut.capture") != std::string::npos);
}

TEST_CASE("a page that cannot be written there is refused before the work begins") {
  const ScratchFolder folder;
  const Ran ran =
      report(demo + "tractor-1.capture " + quoted(folder.path() / "missing" / "report.html"));
  CHECK(ran.status == 2);
  CHECK(ran.err.find("report.html: cannot be written") != std::string::npos);
  CHECK(std::filesystem::is_empty(folder.path()));
}

}  // namespace foundling::house
