// What the front page shows is what is printed: its commands are run in its order on the invented
// recordings, in a terminal of 80 columns, and every line that stands below them has to come.
// Dots stand for what is left out, at the end of a line too. A recorder that is at work, as far as
// `foundling stimulus` sees one, is a capture that this test holds open.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "schemas/capture/capture_writer.h"
#include "schemas/capture/session_clock.h"
#include "tests/house/source_tree.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling::house {
namespace {

struct Shown {
  int line = 0;
  std::string command;
  std::vector<SourceLine> output;
};

// The commands of README.md that need no hand beside them, with what is shown below each.
std::vector<Shown> shown_commands() {
  std::vector<Shown> all;
  bool fenced = false;
  bool of_command = false;
  for (const SourceLine& line : lines_of("README.md")) {
    if (line.text.rfind("```", 0) == 0) {
      fenced = !fenced;
      of_command = false;
    } else if (fenced && line.text.rfind("$ ", 0) == 0) {
      const std::string command = line.text.substr(2);
      of_command = (command.rfind("foundling ", 0) == 0 || command.rfind("cat ", 0) == 0) &&
                   command.find(" touch ") == std::string::npos;
      if (of_command) all.push_back({static_cast<int>(line.number), command, {}});
    } else if (of_command && !line.text.empty() && line.text != "...") {
      all.back().output.push_back(line);
    }
  }
  return all;
}

std::vector<std::string> lines_in(const std::filesystem::path& file) {
  std::vector<std::string> lines;
  std::ifstream in(file);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

// A page's size follows every change of its scripts: within a tenth is near enough.
bool same_but_for_size(const std::string& shown, const std::string& printed) {
  const auto at = shown.find(" KiB,");
  const auto there = printed.find(" KiB,");
  if (at == std::string::npos || there == std::string::npos) return false;
  if (shown.substr(at) != printed.substr(there)) return false;
  const auto size = [](const std::string& line, std::size_t end) {
    const auto begin = line.rfind(' ', end - 1);
    return std::strtod(line.substr(begin == std::string::npos ? 0 : begin, end).c_str(), nullptr);
  };
  return std::abs(size(shown, at) / size(printed, there) - 1) < 0.1;
}

// "reading 1: room = 21 °C at 23.7 s of session 1": when it is typed is the hand's.
bool same_but_for_time(const std::string& shown, const std::string& printed) {
  const auto at = shown.find(" at ");
  return shown.rfind("reading ", 0) == 0 && at != std::string::npos &&
         printed.compare(0, at + 4, shown, 0, at + 4) == 0 &&
         printed.substr(std::min(printed.size(), printed.rfind(" s "))) ==
             shown.substr(std::min(shown.size(), shown.rfind(" s ")));
}

bool is_shown(const std::string& shown, const std::string& printed) {
  if (same_but_for_time(shown, printed)) return true;
  const auto dots = shown.find("...");
  if (dots != std::string::npos) return printed.compare(0, dots, shown, 0, dots) == 0;
  return shown == printed || same_but_for_size(shown, printed);
}

// The place behind the line, or npos.
std::size_t find_after(const std::vector<std::string>& printed, std::size_t from,
                       const std::string& shown) {
  for (std::size_t i = from; i < printed.size(); ++i) {
    if (is_shown(shown, printed[i])) return i + 1;
  }
  return std::string::npos;
}

}  // namespace

TEST_CASE("the front page shows what is printed") {
  const ScratchFolder folder;
  auto recorder = must(CaptureWriter::create(folder / "tractor.capture"));
  must(recorder.lock_for_recording());
  SessionInfo info;
  start_session_clock(info);
  (void)must(recorder.begin_session(info));
  std::filesystem::create_directory_symlink(FOUNDLING_SOURCE_DIR "/captures_demo",
                                            folder / "captures_demo");
  std::filesystem::create_directory(folder / "bin");
  std::filesystem::create_symlink(FOUNDLING_PROGRAM, folder / "bin" / "foundling");
  const std::string before =
      "cd '" + folder.path().string() + "' && export COLUMNS=80 PATH=\"$PWD/bin:$PATH\" && { ";
  std::size_t lines = 0;
  for (const Shown& shown : shown_commands()) {
    CAPTURE(shown.command);
    const int status = std::system((before + shown.command + " ; } >out 2>err").c_str());
    CHECK(status == 0);
    auto out = lines_in(folder / "out");
    // Where the command itself sends stdout into a file, nothing is shown of it.
    const auto err = lines_in(folder / "err");
    std::size_t at_out = 0;
    std::size_t at_err = 0;
    for (const SourceLine& line : shown.output) {
      ++lines;
      if (const auto behind = find_after(out, at_out, line.text); behind != std::string::npos) {
        at_out = behind;
      } else if (const auto there = find_after(err, at_err, line.text);
                 there != std::string::npos) {
        at_err = there;
      } else {
        FAIL_CHECK("README.md:" << line.number << ": not printed: " << line.text);
      }
    }
  }
  CHECK(lines > 50);
}

}  // namespace foundling::house
