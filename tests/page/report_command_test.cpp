// `foundling report` as a person types it: what it writes, and that faults leave nothing behind.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
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

// One that needs no search, so that the test is quick.
Ran report(const std::string& words) { return run_foundling("report --no-search " + words); }

}  // namespace

TEST_CASE("a report is one file that asks nobody for anything, with the safety words in it") {
  const ScratchFolder folder;
  const auto out = folder / "report.html";
  const Ran ran = report("--map " + demo + "tractor.signals --check " + demo +
                         "tractor-2.capture " + demo + "tractor-1.capture " + quoted(out));
  CHECK(ran.status == 0);
  CHECK(ran.err == "");
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
