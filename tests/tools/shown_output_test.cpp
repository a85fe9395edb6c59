// What files of strangers make the program say: text that shows itself only, on every stream of
// every command. The names are as hostile as SQLite lets them be.
#include <doctest/doctest.h>
#include <sqlite3.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "schemas/values/shown_text.h"
#include "tests/house/program.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;

// Set a window's title; the one-byte form of the same; turn the line; wipe it; broken UTF-8.
constexpr const char* hostile = "v\x1b]0;x\a\u009B31m\u202Eend\r\x1b[K";

void say_in_sql(const fs::path& capture, const std::string& sql) {
  sqlite3* database = nullptr;
  REQUIRE(sqlite3_open(capture.c_str(), &database) == SQLITE_OK);
  char* problem = nullptr;
  const int done = sqlite3_exec(database, sql.c_str(), nullptr, nullptr, &problem);
  CAPTURE((problem == nullptr ? "" : problem));
  CHECK(done == SQLITE_OK);
  sqlite3_close(database);
}

fs::path hostile_capture(const fs::path& folder) {
  const fs::path capture = folder / "x.capture";
  fs::copy_file(fs::path(FOUNDLING_SOURCE_DIR) / "captures_demo/tractor-2.capture", capture);
  fs::permissions(capture, fs::perms::owner_all);
  const std::string text = std::string("'") + hostile + "'";
  say_in_sql(capture, "UPDATE session SET note = " + text + ", pack = " + text +
                          ", board = " + text + ", interface = " + text);
  say_in_sql(capture, "UPDATE channel SET name = " + text + ", unit = " + text +
                          " WHERE id = (SELECT min(id) FROM channel)");
  return capture;
}

fs::path hostile_map(const fs::path& folder) {
  const fs::path map = folder / "x.signals";
  std::ofstream(map) << "foundling signals 1\nmessage 1A4 every 20 ms length 8\n  signal \"v\u009B"
                        "31m\u202Eend\"\n    bits 0.7..1.0 signed\n"
                        "    value = raw * 0.1 \"A\u202E\"\n    note \"\u202Enote\"\n";
  return map;
}

TEST_CASE("no command passes on what steers a terminal, whatever the capture and the map say") {
  const ScratchFolder folder;
  const std::string capture = hostile_capture(folder.path()).string();
  const std::string map = hostile_map(folder.path()).string();
  for (const std::string& command :
       {"status " + capture, "status --json " + capture, "stimulus list " + capture,
        "survey " + capture, "export --stimulus - " + capture, "bench next " + capture,
        "check " + map + ' ' + capture, "check --json " + map + ' ' + capture,
        "decode " + map + ' ' + capture, "decode --format jsonl " + map + ' ' + capture,
        "decode --every 1 " + map + ' ' + capture, "signals list " + map,
        "signals list --json " + map, "signals check " + map,
        "report " + capture + ' ' + (folder / "page.html").string()}) {
    CAPTURE(command);
    const auto ran = house::run_foundling(command);
    CHECK(shown_lines(ran.out) == ran.out);
    CHECK(shown_lines(ran.err) == ran.err);
    CHECK(ran.err.find("a bug in") == std::string::npos);
  }
  std::ifstream page(folder / "page.html", std::ios::binary);
  const std::string text{std::istreambuf_iterator<char>(page), {}};
  CHECK(text.size() > 10'000);
  CHECK(text.find("\u202E") == std::string::npos);
  CHECK(text.find(R"(\\u202e)") != std::string::npos);  // written out, and not by JSON only
}

TEST_CASE("a file name that steers a terminal is shown where it is complained of") {
  const auto ran = house::run_foundling("status '/nowhere/\x1b[31m\u202E.capture'");
  CHECK(ran.status == 2);
  CHECK(shown_lines(ran.err) == ran.err);
  CHECK(ran.err.find("\\u001b[31m\\u202e") != std::string::npos);
}

TEST_CASE("a channel's name that is no UTF-8 is a name, not a bug") {
  const ScratchFolder folder;
  const fs::path capture = hostile_capture(folder.path());
  say_in_sql(capture,
             "UPDATE channel SET name = CAST(x'63656C6CFF' AS TEXT)"
             " WHERE id = (SELECT min(id) FROM channel)");
  for (const std::string command : {"correlate ", "correlate --json ", "status ", "stimulus list ",
                                    "stimulus list --json ", "bench next "}) {
    CAPTURE(command);
    const auto ran = house::run_foundling(command + capture.string());
    CHECK(ran.err.find("a bug in") == std::string::npos);
    CHECK(shown_lines(ran.out + ran.err) == ran.out + ran.err);
  }
}

TEST_CASE("a map printed into a pipe is the map, also where it does not show itself") {
  const ScratchFolder folder;
  const fs::path map = hostile_map(folder.path());
  const auto first = house::run_foundling("signals merge " + map.string() + ' ' + map.string());
  CHECK(first.status == 0);
  CHECK(first.out.find("\u202Enote") != std::string::npos);
}

}  // namespace
}  // namespace foundling
