// Files as they are written: over what, with which permissions, and what is left of a killed one.
#include "tools/files/new_file.h"

#include <doctest/doctest.h>
#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "tests/house/program.h"
#include "tests/scratch_folder.h"

namespace {
std::vector<bool>& synced_folders() {  // of each sync: whether it was of a folder
  static std::vector<bool> those;
  return those;
}
}  // namespace

// In the C library's place, to see what is synced and in which order.
extern "C" int fsync(int file) {
  struct stat facts {};
  ::fstat(file, &facts);
  synced_folders().push_back(S_ISDIR(facts.st_mode));
  return static_cast<int>(::syscall(SYS_fsync, file));
}

namespace foundling {
namespace {

namespace fs = std::filesystem;

std::string content(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream all;
  all << file.rdbuf();
  return all.str();
}

void put(const fs::path& path, const std::string& text) {
  std::ofstream(path, std::ios::binary) << text;
}

Result<void> write_file(const fs::path& path, NewFile::Over over = NewFile::Over::other_files) {
  auto file = NewFile::begin(path.string(), over);
  if (!file) return file.error();
  if (auto done = file->write("new"); !done) return done;
  return file->finish();
}

std::vector<std::string> names_in(const fs::path& folder) {
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(folder)) {
    names.push_back(entry.path().filename().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

house::Ran foundling_run(const std::string& arguments) { return house::run_foundling(arguments); }

fs::path demo_capture(const fs::path& folder) {
  const fs::path capture = folder / "tractor.capture";
  fs::copy_file(fs::path(FOUNDLING_SOURCE_DIR) / "captures_demo/tractor-2.capture", capture);
  fs::permissions(capture, fs::perms::owner_all);
  return capture;
}

TEST_CASE("an export into a capture is refused, and the capture is as it was") {
  const ScratchFolder scratch;
  const fs::path capture = demo_capture(scratch.path());
  const std::string before = content(capture);
  const fs::path link = scratch.path() / "frames.csv";
  fs::create_hard_link(capture, link);
  for (const std::string& wanted :
       {"export " + capture.string() + " --stimulus " + capture.string(),
        "export " + capture.string() + " --frames " + link.string(),
        "export " + capture.string() + " --stimulus " + capture.string() + "-wal"}) {
    CAPTURE(wanted);
    const auto run = foundling_run(wanted);
    CHECK(run.status == 2);
    CHECK(run.err.find("recorded data is never written over") != std::string::npos);
    CHECK(content(capture) == before);
  }
}

TEST_CASE("a bench plan drawn again into a capture is refused, and the capture is as it was") {
  const ScratchFolder scratch;
  const fs::path capture = demo_capture(scratch.path());
  const std::string before = content(capture);
  const auto run =
      foundling_run("bench plan " FOUNDLING_SOURCE_DIR "/captures_demo/tractor.bench --into " +
                    capture.string() + " --again");
  CHECK(run.status == 2);
  CHECK(run.err.find("recorded data is never written over") != std::string::npos);
  CHECK(content(capture) == before);
}

TEST_CASE("a log or a journal of a database is not written over") {
  const ScratchFolder scratch;
  const fs::path file = scratch.path() / "x.csv";
  using namespace std::string_literals;
  for (const std::string& start : {"\x37\x7f\x06\x82rest"s, "\x37\x7f\x06\x83rest"s,
                                   "\xd9\xd5\x05\xf9\x20\xa1\x63\xd7rest"s}) {
    put(file, start);
    CHECK_FALSE(write_file(file).ok());
    CHECK(content(file) == start);
  }
}

TEST_CASE("a file that is replaced keeps its permissions") {
  const ScratchFolder scratch;
  const fs::path capture = demo_capture(scratch.path());
  const fs::path csv = scratch.path() / "readings.csv";
  put(csv, "old");
  fs::permissions(csv, fs::perms::owner_read | fs::perms::owner_write);
  const auto run = foundling_run("export " + capture.string() + " --stimulus " + csv.string());
  CHECK(run.status == 0);
  CHECK(content(csv).substr(0, 6) == "time_s");
  CHECK((fs::status(csv).permissions() & fs::perms::all) ==
        (fs::perms::owner_read | fs::perms::owner_write));
}

TEST_CASE("while it is written, a file is its user's alone under a name that cannot be guessed") {
  const ScratchFolder scratch;
  auto file = NewFile::begin((scratch.path() / "a.txt").string(), NewFile::Over::other_files);
  REQUIRE(file.ok());
  const auto names = names_in(scratch.path());
  REQUIRE(names.size() == 1);
  CHECK(names[0].size() == std::string("a.txt.unfinished-").size() + 16);
  CHECK((fs::status(scratch.path() / names[0]).permissions() & fs::perms::all) ==
        (fs::perms::owner_read | fs::perms::owner_write));
  auto other = NewFile::begin((scratch.path() / "a.txt").string(), NewFile::Over::other_files);
  REQUIRE(other.ok());
  CHECK(names_in(scratch.path()).size() == 2);  // the first is held, so it stays
}

TEST_CASE("the file is synced before it has its name, and the folder after") {
  const ScratchFolder scratch;
  synced_folders().clear();
  REQUIRE(write_file(scratch.path() / "a.txt").ok());
  CHECK(synced_folders() == std::vector<bool>{false, true});
}

TEST_CASE("what a killed program left is removed when the same name is written next") {
  const ScratchFolder scratch;
  const fs::path file = scratch.path() / "a.txt";
  put(scratch.path() / "a.txt.unfinished-abcdefgh234567aa", "half");
  fs::create_directory(scratch.path() / "a.txt.unfinished-abcdefgh234567bb");
  put(scratch.path() / "a.txt.unfinished-abcdefgh234567bb/capture", "half");
  put(scratch.path() / "a.txt.unfinished-mine", "a person's");
  put(scratch.path() / "b.txt.unfinished-abcdefgh234567aa", "of another name");
  REQUIRE(write_file(file).ok());
  CHECK(names_in(scratch.path()) == std::vector<std::string>{"a.txt", "a.txt.unfinished-mine",
                                                             "b.txt.unfinished-abcdefgh234567aa"});
}

TEST_CASE("a file that gives up leaves what was there, and nothing beside it") {
  const ScratchFolder scratch;
  const fs::path path = scratch.path() / "a.txt";
  put(path, "old");
  {
    auto file = NewFile::begin(path.string(), NewFile::Over::other_files);
    REQUIRE(file.ok());
    REQUIRE(file->write("half").ok());
  }
  CHECK(content(path) == "old");
  CHECK(names_in(scratch.path()).size() == 1);
}

TEST_CASE("a name that is taken meanwhile is not written over where nothing may be") {
  const ScratchFolder scratch;
  const fs::path path = scratch.path() / "a.txt";
  auto file = NewFile::begin(path.string(), NewFile::Over::nothing);
  REQUIRE(file.ok());
  put(path, "somebody's");
  CHECK_FALSE(file->finish().ok());
  CHECK(content(path) == "somebody's");
  CHECK_FALSE(write_file(path, NewFile::Over::nothing).ok());
}

TEST_CASE("a recording that began at the name meanwhile is not written over") {
  const ScratchFolder scratch;
  const fs::path path = scratch.path() / "a.csv";
  auto file = NewFile::begin(path.string(), NewFile::Over::other_files);
  REQUIRE(file.ok());
  put(path, std::string("SQLite format 3\0...", 19));
  CHECK_FALSE(file->finish().ok());
  CHECK(content(path).substr(0, 6) == "SQLite");
}

}  // namespace
}  // namespace foundling
