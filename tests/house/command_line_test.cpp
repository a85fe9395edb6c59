#include <doctest/doctest.h>

#include <filesystem>

#include "tests/house/program.h"
#include "tests/scratch_folder.h"

namespace foundling::house {
namespace {

struct HelpPage {
  std::string command;  // "foundling signals check"
  std::string page;
};

void collect_pages(const std::string& words, std::vector<HelpPage>& pages) {
  const Ran ran = run_foundling(words + " --help");
  CAPTURE(words);
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  pages.push_back({"foundling" + (words.empty() ? "" : " " + words), ran.out});
  for (const std::string& sub : listed_commands(ran.out)) {
    collect_pages(words.empty() ? sub : words + " " + sub, pages);
  }
}

std::vector<HelpPage> all_pages() {
  std::vector<HelpPage> pages;
  collect_pages("", pages);
  pages.push_back({"foundlingd", run_foundlingd("--help").out});
  return pages;
}

}  // namespace

TEST_CASE("every help page ends with an example that uses the command and only options it has") {
  const std::vector<HelpPage> pages = all_pages();
  CHECK(pages.size() > 5);
  for (const HelpPage& help : pages) {
    CAPTURE(help.command);
    const std::size_t example = help.page.rfind("Example");
    REQUIRE(example != std::string::npos);
    const std::string end = help.page.substr(example);
    CHECK(end.find(help.command + (help.command == "foundling" ? " " : "")) != std::string::npos);
    CHECK(end.find("\n\n") == std::string::npos);  // nothing after the example
    if (help.command == "foundling") continue;     // its example shows several commands
    for (const std::string& option : options_in(end)) {
      CAPTURE(option);
      CHECK(help.page.find(option) < example);
    }
  }
}

TEST_CASE("no help page is wider than a terminal of 100 columns") {
  for (const HelpPage& help : all_pages()) {
    for (const std::string& line : lines(help.page)) {
      CAPTURE(help.command);
      CAPTURE(line);
      CHECK(line.size() <= 110);  // bytes: units and dashes take more than one
    }
  }
}

TEST_CASE("the program alone prints the overview") {
  const Ran alone = run_foundling("");
  CHECK(alone.status == 0);
  CHECK(alone.out == run_foundling("--help").out);
  CHECK(run_foundling("--version").out.compare(0, 10, "foundling ") == 0);
}

TEST_CASE("a mistyped command gets the one that was meant") {
  const Ran ran = run_foundling("servey bench.capture");
  CHECK(ran.status == 2);
  CHECK(ran.out.empty());
  CHECK(ran.err ==
        "foundling: error: unknown command 'servey'; did you mean 'survey'?\n"
        "foundling --help shows what it takes, with an example.\n");
}

TEST_CASE("a word that resembles no command gets no guess") {
  const Ran ran = run_foundling("xylophone");
  CHECK(ran.status == 2);
  CHECK(ran.err.find("unknown command 'xylophone'\n") != std::string::npos);
}

TEST_CASE("a mistyped option is named even where a required one is missing because of it") {
  const Ran ran = run_foundling("import --frame bench.csv new.capture");
  CHECK(ran.status == 2);
  CHECK(ran.err.find(
            "foundling import: error: unknown option '--frame'; did you mean '--frames'?") == 0);
}

TEST_CASE("options without a command say that one is missing") {
  const Ran ran = run_foundling("--");
  CHECK(ran.status == 2);
  CHECK(ran.err.find("a command is missing") != std::string::npos);
}

TEST_CASE("output that cannot be written is an error, not a success") {
  // /dev/full is Linux's own device for this: every write fails with ENOSPC (full(4)).
  const Ran ran = run_foundling("--help >/dev/full");
  CHECK(ran.status == 2);
  CHECK(ran.err == "foundling: error: the output could not be written\n");
}

TEST_CASE("the recorder names a mistyped option and the one that was meant") {
  const Ran ran = run_foundlingd("--interfce can0 --capture new.capture");
  CHECK(ran.status == 2);
  CHECK(ran.out.empty());
  CHECK(ran.err ==
        "foundlingd: error: unknown option '--interfce'; did you mean '--interface'?\n"
        "foundlingd --help shows what it takes, with an example.\n");
}

TEST_CASE("the recorder refuses an interface that is not there and leaves no file") {
  const ScratchFolder folder;
  const std::string capture = (folder.path() / "new.capture").string();
  const Ran ran = run_foundlingd("--interface no-such-can --capture '" + capture + "'");
  CHECK(ran.status == 2);
  CHECK(ran.out.empty());
  CHECK(ran.err.find("there is no interface \"no-such-can\"") != std::string::npos);
  CHECK(std::filesystem::is_empty(folder.path()));
}

}  // namespace foundling::house
