// The program's commands and options as plain data, read off the declarations that parse them, so
// that completions and manual pages cannot say anything else.
#pragma once

#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace foundling {

struct OptionEntry {
  std::vector<std::string> names;    // "-h", "--help"; of an argument: its one name
  std::string summary;               // with default, "required" and the like
  std::string value;                 // what its value is called; empty: takes none
  std::vector<std::string> choices;  // where only some words are taken
  bool required = false;
  bool repeated = false;
};

struct CommandEntry {
  std::string path;  // "foundling signals check"
  std::string name;  // "check"
  std::string summary;
  std::string footer;
  std::vector<OptionEntry> options;
  std::vector<OptionEntry> arguments;
  std::vector<CommandEntry> commands;
};

// `program` or one of its subcommands, with all below it.
[[nodiscard]] CommandEntry command_tree(const CLI::App& app, const std::string& path);
[[nodiscard]] const CLI::App& whole_program(const CLI::App& any_command);

}  // namespace foundling
