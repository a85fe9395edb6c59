// How a subcommand declares what it takes: arguments, options, flags, verbs, the end of its help.
// A thin front of CLI11, which takes a compiler ten seconds in every file that includes it: only
// command_line.cpp and what reads or prints the whole program's declarations do.
// Handles, cheap to copy; what they stand for lives as long as the program's command line.
#pragma once

#include <cstdint>
#include <functional>
#include <initializer_list>
#include <limits>
#include <string>

namespace CLI {
class App;
class Option;
}  // namespace CLI

namespace foundling {

inline constexpr double any_size = std::numeric_limits<double>::max();

// What is wrong with a value as typed, or nothing. It may rewrite the text.
struct ValueCheck {
  std::function<std::string(std::string&)> fault;
  std::string type_note;  // behind the type's name; completions read the choices from it
};

[[nodiscard]] ValueCheck one_of(std::initializer_list<std::string> words);
// Neither takes "nan".
[[nodiscard]] ValueCheck number_between(double low, double high);
[[nodiscard]] ValueCheck whole_number_between(std::uint32_t low, std::uint32_t high);

class CommandOption {
 public:
  explicit CommandOption(CLI::Option& option) : option_(&option) {}
  CommandOption& type_name(const std::string& name);
  CommandOption& required();
  CommandOption& check(ValueCheck check);
  // Rewrites what was typed before it is checked.
  CommandOption& transform(std::function<std::string(std::string&)> rewrite);
  CommandOption& needs(const CommandOption& other);
  CommandOption& excludes(const CommandOption& other);
  CommandOption& expected(int count);
  // Given several times, it takes one value each time.
  CommandOption& one_value_each();
  // Help shows the value that the variable has now.
  CommandOption& capture_default_str();

 private:
  CLI::Option* option_;
};

class CommandLine {
 public:
  explicit CommandLine(CLI::App& app) : app_(&app) {}
  // For the types that are listed at the end of command_line.cpp.
  template <typename Value>
  CommandOption add_option(const std::string& names, Value& value, const std::string& summary);
  CommandOption add_flag(const std::string& names, bool& given, const std::string& summary);
  // In the help's list of commands.
  CommandLine add_verb(const std::string& name, const std::string& summary);
  void when_chosen(std::function<void()> note);
  void require_verb(std::size_t least, std::size_t most);
  void footer(const std::string& text);
  [[nodiscard]] const CLI::App& declared() const { return *app_; }

 private:
  CLI::App* app_;
};

}  // namespace foundling
