// Completions in the real shells, and manual pages through the real man, held against the help
// pages: every command and every option is there. A shell that is not installed is left out, and
// said.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <set>

#include "tests/house/program.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

using house::run_foundling;

// By path ("foundling decode"): what a person can type there, by the help page.
struct Expected {
  std::set<std::string> options;
  std::set<std::string> commands;
};

void collect(const std::string& words, std::map<std::string, Expected>& into) {
  const std::string page = run_foundling(words + " --help").out;
  Expected& here = into["foundling" + (words.empty() ? "" : ' ' + words)];
  bool inside = false;
  for (const std::string& line : house::lines(page)) {
    if (line == "Options:") inside = true;
    if (line.empty()) inside = false;
    if (!inside || line.compare(0, 2, "  ") != 0 || line.size() < 3 || line[2] != '-') continue;
    const std::string term = line.substr(0, line.find("   "));
    for (const std::string& option : house::options_in(term)) here.options.insert(option);
  }
  for (const std::string& sub : house::listed_commands(page)) {
    here.commands.insert(sub);
    collect(words.empty() ? sub : words + ' ' + sub, into);
  }
}

const std::map<std::string, Expected>& expected() {
  static const std::map<std::string, Expected> all = [] {
    std::map<std::string, Expected> found;
    collect("", found);
    return found;
  }();
  return all;
}

bool installed(const std::string& program) {
  const bool is = std::system(("command -v " + program + " >/dev/null").c_str()) == 0;
  if (!is) MESSAGE(program << " is not installed: left out");
  return is;
}

std::string shell_output(const ScratchFolder& folder, const std::string& shell,
                         const std::string& script) {
  const std::string file = (folder / "script").string();
  const std::string out = (folder / "out").string();
  std::ofstream(file) << script;
  const int status = std::system((shell + " '" + file + "' >'" + out + "' 2>&1").c_str());
  std::ifstream in(out);
  std::string text{std::istreambuf_iterator<char>(in), {}};
  CAPTURE(text);
  REQUIRE(status == 0);
  return text;
}

std::string saved(const ScratchFolder& folder, const std::string& shell) {
  const auto ran = run_foundling("completion " + shell);
  REQUIRE(ran.status == 0);
  const std::string file = (folder / ("foundling." + shell)).string();
  std::ofstream(file) << ran.out;
  return file;
}

// Lines "PLACE<tab>WORD" of what a shell offers.
void check_offers(const std::string& offered) {
  std::map<std::string, std::set<std::string>> words;
  for (const std::string& line : house::lines(offered)) {
    const std::size_t tab = line.find('\t');
    if (tab == std::string::npos) continue;
    words[line.substr(0, tab)].insert(line.substr(tab + 1, line.find('\t', tab + 1) - tab - 1));
  }
  for (const auto& one : expected()) {  // clang 14 captures no structured binding
    const std::string& place = one.first;
    const Expected& wanted = one.second;
    CAPTURE(place);
    for (const std::string& option : wanted.options) {
      CAPTURE(option);
      CHECK(words[place].contains(option));
    }
    for (const std::string& command : wanted.commands) {
      CAPTURE(command);
      CHECK(words[place].contains(command));
    }
  }
}

}  // namespace

TEST_CASE("bash offers every command and option, the words of an option, and files else") {
  const ScratchFolder folder;
  std::string script = "set -e\nsource '" + saved(folder, "bash") +
                       "'\n"
                       "offer() { local place=$1; COMP_WORDS=($place \"$2\"); "
                       "COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); _foundling; "
                       "for word in \"${COMPREPLY[@]}\"; do printf '%s\\t%s\\n' \"$place\" "
                       "\"$word\"; done; }\n";
  for (const auto& [place, wanted] : expected()) {
    script += "offer '" + place + "' -\noffer '" + place + "' ''\n";
  }
  script += "offer 'foundling decode --format' j\noffer 'foundling decode --from' ''\n";
  const std::string offered = shell_output(folder, "bash", script);
  check_offers(offered);
  CHECK(offered.find("foundling decode --format\tjsonl\n") != std::string::npos);
  CHECK(offered.find("foundling decode --from\t") == std::string::npos);
}

TEST_CASE("zsh loads its script, as a file of its own and by source") {
  REQUIRE_MESSAGE(installed("zsh"), "tools/install-packages.sh installs it");
  const ScratchFolder folder;
  const std::string script = saved(folder, "zsh");
  std::filesystem::copy(script, folder / "_foundling");
  // compadd is replaced by one that says what it is offered; _describe comes down to it.
  std::string test = "set -e\nautoload -U compinit; compinit -D -u\nsource '" + script +
                     "'\n[[ ${_comps[foundling]} == _foundling ]]\n"
                     "_describe() { local what=$1; for entry in ${(P)2}; do print -r -- "
                     "\"$place\"$'\\t'\"${entry%%:*}\"; done; }\n_files() { :; }\n"
                     "offer() { words=(${=1} \"$2\"); CURRENT=${#words}; _foundling; }\n";
  for (const auto& [place, wanted] : expected()) {
    test += "offer '" + place + "' -\noffer '" + place + "' ''\n";
  }
  check_offers(shell_output(folder, "zsh -f", test));
  shell_output(folder, "zsh -f",
               "fpath=('" + folder.path().string() +
                   "' $fpath); autoload -U compinit; compinit -D -u; "
                   "[[ ${_comps[foundling]} == _foundling ]]\n");
}

TEST_CASE("fish offers every command and option") {
  REQUIRE_MESSAGE(installed("fish"), "tools/install-packages.sh installs it");
  const ScratchFolder folder;
  std::string test = "source '" + saved(folder, "fish") + "'\n";
  for (const auto& [place, wanted] : expected()) {
    for (const std::string word : {"-", "--", ""}) {
      test += "for line in (complete -C '" + place + ' ' + word + "')\n  printf '%s\\t%s\\n' '" +
              place + "' $line\nend\n";
    }
  }
  check_offers(
      shell_output(folder, "env HOME='" + folder.path().string() + "' fish --no-config", test));
}

TEST_CASE("a shell that is not known is named") {
  const auto ran = run_foundling("completion tcsh");
  CHECK(ran.status == 2);
  CHECK(ran.err.find("tcsh") != std::string::npos);
}

TEST_CASE("every command has a manual page without warnings, and every option is in it") {
  const ScratchFolder folder;
  REQUIRE(run_foundling("manual '" + folder.path().string() + "'").status == 0);
  REQUIRE_MESSAGE(installed("man"), "tools/install-packages.sh installs it");
  for (const auto& [place, wanted] : expected()) {
    std::string file = place;
    std::replace(file.begin(), file.end(), ' ', '-');
    CAPTURE(file);
    REQUIRE(std::filesystem::exists(folder / (file + ".1")));
    // groff's warnings go to stderr, which is kept with the page here.
    const std::string page = shell_output(
        folder, "sh",
        "cd '" + folder.path().string() + "' && LC_ALL=C.UTF-8 MANWIDTH=200 man --warnings -l ./" +
            file + ".1 2>warnings | col -bx && cat warnings\n");
    CHECK(page.find("warning") == std::string::npos);
    CHECK(page.find("SYNOPSIS") != std::string::npos);
    CHECK(page.find("EXAMPLES") != std::string::npos);
    for (const std::string& option : wanted.options) {
      CAPTURE(option);
      CHECK(page.find(option) != std::string::npos);
    }
  }
  CHECK(run_foundling("manual /no/such/folder").status == 2);
}

TEST_CASE("mandoc, another reader of manual pages, has nothing to warn of") {
  REQUIRE_MESSAGE(installed("mandoc"), "tools/install-packages.sh installs it");
  const ScratchFolder folder;
  REQUIRE(run_foundling("manual '" + folder.path().string() + "'").status == 0);
  // A date would make every build's pages others: they have none.
  const std::string warnings = shell_output(
      folder, "sh",
      "cd '" + folder.path().string() +
          "' && mandoc -T lint -W warning ./*.1 2>&1 | grep -v 'missing date, using' || true\n");
  CHECK(warnings == "");
}

}  // namespace foundling
