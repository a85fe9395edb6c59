#include "tests/house/program.h"

#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

namespace foundling::house {
namespace {

std::string read_all(std::FILE* stream) {
  std::string text;
  std::array<char, 4096> chunk{};
  for (std::size_t n = 0; (n = std::fread(chunk.data(), 1, chunk.size(), stream)) > 0;) {
    text.append(chunk.data(), n);
  }
  return text;
}

std::string unique_file() {
  std::string name = (std::filesystem::temp_directory_path() / "house-XXXXXX").string();
  const int handle = mkstemp(name.data());
  REQUIRE_MESSAGE(handle >= 0, "no temporary file");
  close(handle);
  return name;
}

Ran run(const std::string& program, const std::string& command_line) {
  const std::string errors = unique_file();
  const std::string shell = "'" + program + "' " + command_line + " 2>'" + errors + "' </dev/null";
  Ran ran;
  if (std::FILE* pipe = popen(shell.c_str(), "r"); pipe != nullptr) {
    ran.out = read_all(pipe);
    const int status = pclose(pipe);
    if (WIFEXITED(status)) ran.status = WEXITSTATUS(status);
  }
  std::ifstream in(errors);
  std::ostringstream text;
  text << in.rdbuf();
  ran.err = text.str();
  std::filesystem::remove(errors);
  return ran;
}

}  // namespace

Ran run_foundling(const std::string& command_line) { return run(FOUNDLING_PROGRAM, command_line); }
Ran run_foundlingd(const std::string& command_line) {
  return run(FOUNDLINGD_PROGRAM, command_line);
}

Ran run_awk(const std::string& script, const std::string& input) {
  const std::string file = unique_file();
  std::ofstream(file) << input;
  Ran ran = run("awk", "-f '" FOUNDLING_SOURCE_DIR "/" + script + "' '" + file + "'");
  std::filesystem::remove(file);
  return ran;
}

std::vector<std::string> lines(const std::string& text) {
  std::vector<std::string> out;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) out.push_back(line);
  return out;
}

std::vector<std::string> listed_commands(const std::string& page) {
  std::vector<std::string> found;
  bool inside = false;
  for (const std::string& line : lines(page)) {
    if (line == "Commands:" || line == "Subcommands:") {
      inside = true;
    } else if (line.empty()) {
      inside = false;
    } else if (inside && line.size() > 2 && line.compare(0, 2, "  ") == 0 && line[2] != ' ') {
      found.push_back(line.substr(2, line.find(' ', 2) - 2));
    }
  }
  return found;
}

std::vector<std::string> options_in(const std::string& text) {
  std::vector<std::string> found;
  for (std::size_t at = 0; (at = text.find("--", at)) != std::string::npos;) {
    const std::size_t end = text.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-", at + 2);
    std::string word = text.substr(at, end == std::string::npos ? end : end - at);
    const bool starts = at == 0 || text[at - 1] == ' ' || text[at - 1] == ',';
    at += std::max<std::size_t>(word.size(), 2);
    if (!starts || word.size() < 3) continue;
    if (std::find(found.begin(), found.end(), word) == found.end()) found.push_back(word);
  }
  return found;
}

}  // namespace foundling::house
