#include "daemon/message_log.h"

#include <doctest/doctest.h>
#include <fcntl.h>
#include <spdlog/spdlog.h>
#include <stdlib.h>
#include <unistd.h>

#include <fstream>
#include <string>
#include <vector>

#include "tests/scratch_folder.h"

namespace foundling {
namespace {

// What the program says on stderr between two moments, as the journal's lines.
class Journal {
 public:
  Journal() : logger_(spdlog::default_logger()), stderr_(dup(STDERR_FILENO)) {
    const int file = open(path_.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
    dup2(file, STDERR_FILENO);
    close(file);
    setenv("JOURNAL_STREAM", "1:2", 1);
    set_up_message_log();
  }
  Journal(const Journal&) = delete;
  Journal& operator=(const Journal&) = delete;
  ~Journal() {
    unsetenv("JOURNAL_STREAM");
    spdlog::set_default_logger(logger_);
    dup2(stderr_, STDERR_FILENO);
    close(stderr_);
  }
  [[nodiscard]] std::vector<std::string> lines() const {
    std::ifstream in(path_);
    std::vector<std::string> all;
    for (std::string line; std::getline(in, line);) all.push_back(line);
    return all;
  }

 private:
  ScratchFolder folder_;
  std::string path_ = (folder_ / "journal").string();
  std::shared_ptr<spdlog::logger> logger_;
  int stderr_;
};

}  // namespace

TEST_CASE("of ten thousand messages at once the journal gets sixty, with their priorities") {
  std::vector<std::string> said;
  {
    Journal journal;
    spdlog::info("recording");
    spdlog::warn("the interface is down");
    for (int i = 0; i < 10'000; ++i) spdlog::error("cannot write {}", i);
    said = journal.lines();
  }
  // Another may come every five seconds, should this machine be that slow.
  REQUIRE(said.size() >= 60);
  CHECK(said.size() <= 62);
  // sd-daemon(3): <6> information, <4> warning, <3> error.
  CHECK(said[0] == "<6>recording");
  CHECK(said[1] == "<4>the interface is down");
  CHECK(said[2] == "<3>cannot write 0");
}

TEST_CASE("what others called a file or an interface does not reach the terminal as it is") {
  const Journal journal;
  spdlog::error("{} is gone", "can\x1b[2J0\xc2\x9b\xe2\x80\xae");
  const auto lines = journal.lines();
  REQUIRE(lines.size() == 1);
  CHECK(lines[0] == "<3>can\\u001b[2J0\\u009b\\u202e is gone");
}

}  // namespace foundling
