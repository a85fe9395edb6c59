// The recorder's manual page and completions are written by hand, so they are held against its help
// page in the real programs: every option is there, and none that it does not have.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <set>

#include "tests/house/program.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

const std::string service = FOUNDLING_SOURCE_DIR "/daemon/service/";

std::set<std::string> options_of_help() {
  std::set<std::string> all;
  for (const std::string& line : house::lines(house::run_foundlingd("--help").out)) {
    if (line.starts_with("  -")) {
      const std::string term = line.substr(0, line.find(' ', 3));
      for (const std::string& option : house::options_in(term)) all.insert(option);
    }
  }
  return all;
}

bool installed(const std::string& program) {
  const bool is = std::system(("command -v " + program + " >/dev/null").c_str()) == 0;
  if (!is) MESSAGE(program << " is not installed: left out");
  return is;
}

std::string output_of(const std::string& shell, const std::string& script) {
  const ScratchFolder folder;
  const std::string file = (folder / "script").string(), out = (folder / "out").string();
  std::ofstream(file) << script;
  const std::string run =
      "HOME='" + folder.path().string() + "' " + shell + " '" + file + "' >'" + out + "' 2>&1";
  const int status = std::system(run.c_str());
  std::ifstream in(out);
  std::string text{std::istreambuf_iterator<char>(in), {}};
  CAPTURE(text);
  REQUIRE(status == 0);
  return text;
}

std::set<std::string> words_of(const std::string& text) {
  std::set<std::string> all;
  for (const std::string& line : house::lines(text)) {
    for (const std::string& option : house::options_in(line)) all.insert(option);
  }
  return all;
}

}  // namespace

TEST_CASE("the recorder's manual page has every option of its help, no other, and no warning") {
  const std::set<std::string> options = options_of_help();
  REQUIRE(options.size() > 10);
  REQUIRE_MESSAGE(installed("man"), "tools/install-packages.sh installs it");
  const std::string page = output_of("sh", "LC_ALL=C.UTF-8 MANWIDTH=200 man --warnings -l '" +
                                               service + "foundlingd.8' 2>&1 | col -bx\n");
  CHECK(page.find("warning") == std::string::npos);
  const std::size_t from = page.find("\nOPTIONS"), to = page.find("\nSIGNALS");
  REQUIRE(to != std::string::npos);
  CHECK(words_of(page.substr(from, to - from)) == options);
}

TEST_CASE("bash offers the recorder's options, and files behind those that take one") {
  const std::string source = "set -e\nsource '" + service + "completion/foundlingd'\n";
  const std::string ask = "_foundlingd; printf '%s\\n' \"${COMPREPLY[@]}\"\n";
  const std::string offered =
      output_of("bash", source + "COMP_WORDS=(foundlingd -) COMP_CWORD=1\n" + ask);
  CHECK(words_of(offered) == options_of_help());
  CHECK(house::lines(output_of("bash", source +
                                           "COMP_WORDS=(foundlingd --capture '') "
                                           "COMP_CWORD=2\n" +
                                           ask)) == std::vector<std::string>{""});
  CHECK(output_of("bash", source + "complete -p foundlingd\n").find("-o default") !=
        std::string::npos);
}

TEST_CASE("zsh loads the recorder's completion, and it names every option") {
  REQUIRE_MESSAGE(installed("zsh"), "tools/install-packages.sh installs it");
  // _arguments is replaced by one that says what it was told.
  const std::string offered =
      output_of("zsh -f", "compdef() { :; }\n_arguments() { print -rl -- \"$@\"; }\nsource '" +
                              service + "completion/_foundlingd'\n");
  std::set<std::string> found;
  for (const std::string& line : house::lines(offered)) {
    const std::string term = line.substr(0, line.find('['));
    const std::size_t start = std::min(term.find("--"), term.size());
    for (const std::string& option : house::options_in(term.substr(start))) found.insert(option);
  }
  CHECK(found == options_of_help());
}

TEST_CASE("fish offers the recorder's options") {
  REQUIRE_MESSAGE(installed("fish"), "tools/install-packages.sh installs it");
  const std::string offered = output_of(
      "fish --no-config", "source '" + service +
                              "completion/foundlingd.fish'\n"
                              "complete -C 'foundlingd -'; complete -C 'foundlingd --'\n");
  std::set<std::string> found;
  for (const std::string& line : house::lines(offered)) {
    if (line.starts_with("--")) found.insert(line.substr(0, line.find('\t')));
  }
  CHECK(found == options_of_help());
}

}  // namespace foundling
