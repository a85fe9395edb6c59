// The merge as version control calls it: git in a scratch repository, two branches, the driver set
// up as the map's page says.
#include <doctest/doctest.h>
#include <sys/wait.h>

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <string>

#include "tests/scratch_folder.h"

using foundling::ScratchFolder;

namespace {

const std::string base = R"(foundling signals 1

message 1A4 every 20 ms length 8
  signal pack_current
    bits 0.7..1.0 signed
    value = raw * 0.1 A
  signal pack_voltage
    bits 2.7..3.0
    value = raw * 0.1 V
)";

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

class Repository {
 public:
  Repository() {
    must("git init -q -b ours");
    must("git config user.name tester && git config user.email tester@example.org");
    must("git config merge.signals.driver '\"" FOUNDLING_PROGRAM
         "\" signals merge --in-place --name %P --base %O %A %B'");
    must("echo '*.signals merge=signals' > .gitattributes && git add .gitattributes");
    commit(base);
    must("git branch theirs");
  }

  // Commits on the branch that is checked out.
  void commit(const std::string& text) {
    std::ofstream(folder_ / "tractor.signals", std::ios::binary) << text;
    must("git add -A && git commit -q -m step");
  }
  void change(const std::string& branch, const std::string& text) {
    must("git checkout -q " + branch);
    commit(text);
  }
  // Exit status of merging the other branch.
  int merge() {
    must("git checkout -q ours");
    return run("git merge -q -m merged theirs");
  }
  [[nodiscard]] std::string map() const {
    std::ifstream file(folder_ / "tractor.signals", std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
  }
  [[nodiscard]] int run(const std::string& command) const {
    const std::string line = "cd '" + folder_.path().string() +
                             "' && HOME=. GIT_CONFIG_NOSYSTEM=1 " + "sh -c '" + escaped(command) +
                             "' > log 2>&1";
    const int status = std::system(line.c_str());
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  }

 private:
  static std::string escaped(const std::string& command) {
    std::string out;
    for (const char c : command) out += c == '\'' ? std::string("'\\''") : std::string(1, c);
    return out;
  }
  void must(const std::string& command) const {
    REQUIRE_MESSAGE(run("(" + command + ")") == 0, command);
  }

  ScratchFolder folder_;
};

bool has_git() { return std::system("git --version > /dev/null 2>&1") == 0; }

}  // namespace

TEST_CASE("git merges two people's edits of one signal's neighbouring lines by meaning") {
  if (!has_git()) return;
  Repository repository;
  const std::string ours = replaced(base, "0.1 A", "0.05 A");
  repository.change("ours", ours);
  repository.change("theirs", replaced(base, "bits 0.7..1.0 signed", "bits 0.7..1.0"));
  CHECK(repository.merge() == 0);
  CHECK(repository.map() == replaced(ours, "bits 0.7..1.0 signed", "bits 0.7..1.0"));
}

TEST_CASE("git reports a conflict that the map says in a comment, and the map still has no fault") {
  if (!has_git()) return;
  Repository repository;
  repository.change("ours", replaced(base, "0.1 A", "0.05 A"));
  repository.change("theirs", replaced(base, "0.1 A", "0.2 A"));
  CHECK(repository.merge() == 1);
  const std::string merged = repository.map();
  CHECK(merged == replaced(base, "    value = raw * 0.1 A\n",
                           "    value = raw * 0.05 A\n"
                           "    # conflict: theirs: value = raw * 0.2 A\n"));
  CHECK(repository.run("\"" FOUNDLING_PROGRAM "\" signals check tractor.signals") == 0);
  CHECK(repository.run("git status --porcelain | grep -q \"^UU tractor.signals\"") == 0);
}

TEST_CASE("git keeps our map as it was where theirs has faults") {
  if (!has_git()) return;
  Repository repository;
  const std::string ours = replaced(base, "0.1 A", "0.05 A");
  repository.change("ours", ours);
  repository.change("theirs", replaced(base, "0.1 V", "0.1 V extra"));
  CHECK(repository.merge() != 0);
  CHECK(repository.map() == ours);
}
