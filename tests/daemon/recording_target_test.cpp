#include "daemon/recording_target.h"

#include <doctest/doctest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "daemon/recording.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;

struct Folder {
  fs::path path = fs::temp_directory_path() / ("foundling-daemon-" + std::to_string(getpid()));
  Folder() { fs::create_directories(path); }
  ~Folder() { fs::remove_all(path); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
};

}  // namespace

TEST_CASE("an interface that does not exist is named, and nothing is written") {
  const Folder folder;
  Options options;
  options.interfaces = {"no-such-can"};
  options.capture = folder.path / "new.capture";
  const auto outcome = record(options);
  REQUIRE_FALSE(outcome);
  CHECK(outcome.error().message.find("there is no interface \"no-such-can\"") == 0);
  CHECK(fs::is_empty(folder.path));
}

TEST_CASE("an interface that is not CAN is refused") {
  Options options;
  options.interfaces = {"lo"};
  const auto outcome = check_interfaces(options);
  REQUIRE_FALSE(outcome);
  CHECK(outcome.error().message == "lo is not a CAN interface");
}

TEST_CASE("a file that is not a capture is refused and left as it was") {
  const Folder folder;
  const fs::path file = folder.path / "notes.txt";
  std::ofstream(file) << "cell 3 is warm\n";
  const auto outcome = open_capture(file);
  REQUIRE_FALSE(outcome);
  CHECK(outcome.error().message.find(file.string()) != std::string::npos);
  CHECK(fs::file_size(file) == 15);
}

TEST_CASE("a folder that is not there or cannot be written is named") {
  const auto outcome = open_capture("/no/such/folder/x.capture");
  REQUIRE_FALSE(outcome);
  CHECK(outcome.error().message == "/no/such/folder/x.capture: there is no folder /no/such/folder");
  CHECK_FALSE(open_capture("/proc/x.capture"));  // not even root can make a file there
}

TEST_CASE("a second recorder on the same capture is refused while the first is at work") {
  const Folder folder;
  const fs::path file = folder.path / "shared.capture";
  {
    auto first = open_capture(file);
    REQUIRE(first);
    const auto second = open_capture(file);
    REQUIRE_FALSE(second);
    CHECK(second.error().code == ErrorCode::busy);
  }
  CHECK(open_capture(file));
}

}  // namespace foundling
