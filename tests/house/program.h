// Runs one of the built programs as a person would and keeps what it said.
#pragma once

#include <string>
#include <vector>

namespace foundling::house {

struct Ran {
  int status = -1;  // exit status; -1 where a signal ended it
  std::string out;
  std::string err;
};

// `command_line` is given to the shell after the program's quoted path.
[[nodiscard]] Ran run_foundling(const std::string& command_line);
[[nodiscard]] Ran run_foundlingd(const std::string& command_line);
// A script of the repository over some text.
[[nodiscard]] Ran run_awk(const std::string& script, const std::string& input);

// The commands of the overview page, in its order.
[[nodiscard]] std::vector<std::string> listed_commands(const std::string& page);
// Every "--option" that a text mentions, each once.
[[nodiscard]] std::vector<std::string> options_in(const std::string& text);
[[nodiscard]] std::vector<std::string> lines(const std::string& text);

}  // namespace foundling::house
