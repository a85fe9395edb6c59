#include "tools/usage_error.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <optional>
#include <vector>

#include "schemas/values/nearest_word.h"
#include "schemas/values/usage_words.h"

namespace foundling {
namespace {

struct Place {
  const CLI::App* app;  // the innermost command that was reached
  std::string name;     // as typed: "foundling signals check"
};

Place innermost(const CLI::App& app) {
  Place place{&app, app.get_name()};
  for (auto parsed = app.get_subcommands(); !parsed.empty();
       parsed = place.app->get_subcommands()) {
    place.app = parsed.back();
    place.name += " " + place.app->get_name();
  }
  return place;
}

std::vector<std::string> known_options(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::Option* option : app.get_options()) {
    for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
    for (const std::string& name : option->get_snames()) names.push_back("-" + name);
  }
  return names;
}

std::vector<std::string> known_commands(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::App* sub : app.get_subcommands([](const CLI::App*) { return true; })) {
    if (!sub->get_name().empty()) names.push_back(sub->get_name());
  }
  return names;
}

std::string joined(const std::vector<std::string>& words) {
  std::string out;
  for (const std::string& word : words) out += (out.empty() ? "" : ", ") + word;
  return out;
}

std::string did_you_mean(const std::string& word, const std::vector<std::string>& known) {
  const std::optional<std::string> near = nearest_word(word, known);
  return near ? "; did you mean '" + *near + "'?" : "";
}

// An unknown option outranks whatever else is wrong: a missing one is often the mistyped one.
std::optional<std::string> unknown_option(const CLI::App& app,
                                          const std::vector<std::string>& left_over) {
  const auto dashed = std::find_if(left_over.begin(), left_over.end(), [](const std::string& word) {
    return word.size() > 1 && word.front() == '-';
  });
  if (dashed == left_over.end()) return std::nullopt;
  const std::string name = dashed->substr(0, dashed->find('='));
  return "unknown option '" + name + "'" + did_you_mean(name, known_options(app));
}

std::string what_is_wrong(const CLI::App& app, const CLI::ParseError& problem) {
  std::vector<std::string> left_over = app.remaining();
  left_over.erase(std::remove(left_over.begin(), left_over.end(), "--"), left_over.end());
  if (const auto message = unknown_option(app, left_over)) return *message;
  const std::vector<std::string> commands = known_commands(app);
  if (!commands.empty() && !left_over.empty()) {
    return "unknown command '" + left_over.front() + "'" +
           did_you_mean(left_over.front(), commands);
  }
  if (!commands.empty() && problem.get_name() == "RequiredError") {
    return "a command is missing: one of " + joined(commands);
  }
  if (!left_over.empty()) return "unexpected argument '" + left_over.front() + "'";
  return plain_usage_words(problem.what());
}

}  // namespace

std::string explain_usage_error(const CLI::App& app, const CLI::ParseError& problem) {
  const Place place = innermost(app);
  return place.name + ": error: " + what_is_wrong(*place.app, problem) + "\n" + place.name +
         " --help shows what it takes, with an example.\n";
}

}  // namespace foundling
