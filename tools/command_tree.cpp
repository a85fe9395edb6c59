#include "tools/command_tree.h"

#include <CLI/CLI.hpp>

namespace foundling {
namespace {

// "FORMAT:{csv,jsonl}" and "N:INT in [1 - 9]": a name and the library's notes on its checks.
void read_type(const std::string& type, OptionEntry& entry) {
  entry.value = type.substr(0, type.find(':'));
  const std::size_t open = type.find('{');
  const std::size_t close = type.find('}', open);
  if (open == std::string::npos || close == std::string::npos) return;
  std::string choice;
  for (const char c : type.substr(open + 1, close - open - 1) + ',') {
    if (c != ',') {
      choice += c;
    } else if (!choice.empty()) {
      entry.choices.push_back(std::exchange(choice, {}));
    }
  }
}

OptionEntry entry_of(const CLI::Option& option) {
  OptionEntry entry;
  if (option.get_positional()) {
    entry.names.push_back(option.get_name(true, false));
  } else {
    for (const std::string& name : option.get_snames()) entry.names.push_back('-' + name);
    for (const std::string& name : option.get_lnames()) entry.names.push_back("--" + name);
  }
  if (option.get_type_size() != 0) read_type(option.get_type_name(), entry);
  entry.summary = option.get_description();
  if (!entry.value.empty() && !option.get_default_str().empty()) {
    entry.summary += " (default " + option.get_default_str() + ')';
  }
  for (const CLI::Option* needed : option.get_needs()) {
    entry.summary += " (with " + needed->get_name() + ')';
  }
  for (const CLI::Option* excluded : option.get_excludes()) {
    entry.summary += " (not with " + excluded->get_name() + ')';
  }
  entry.required = option.get_required();
  entry.repeated = option.get_expected_max() > 1;
  return entry;
}

}  // namespace

CommandEntry command_tree(const CLI::App& app, const std::string& path) {
  CommandEntry command;
  command.path = path;
  command.name = app.get_name();
  command.summary = app.get_description();
  command.footer = app.get_footer();
  for (const CLI::Option* option : app.get_options()) {
    if (option->get_group().empty()) continue;  // hidden
    (option->get_positional() ? command.arguments : command.options).push_back(entry_of(*option));
  }
  for (const CLI::App* sub : app.get_subcommands([](const CLI::App*) { return true; })) {
    command.commands.push_back(command_tree(*sub, path + ' ' + sub->get_name()));
  }
  return command;
}

const CLI::App& whole_program(const CLI::App& any_command) {
  const CLI::App* app = &any_command;
  while (app->get_parent() != nullptr) app = app->get_parent();
  return *app;
}

}  // namespace foundling
