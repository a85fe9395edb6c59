#include "tools/command_line.h"

#include <CLI/CLI.hpp>
#include <optional>
#include <utility>
#include <vector>

namespace foundling {
namespace {

// 0.000001, not 1e-06.
std::string plain_decimal(double number) {
  std::string text = std::to_string(number);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.ends_with('.')) text.pop_back();
  return text;
}

ValueCheck of_library(const CLI::Validator& validator) {
  return {[validator](std::string& text) { return validator(text); }, validator.get_description()};
}

}  // namespace

ValueCheck one_of(std::initializer_list<std::string> words) {
  return of_library(CLI::IsMember(std::vector<std::string>(words)));
}

ValueCheck whole_number_between(std::uint32_t low, std::uint32_t high) {
  return of_library(CLI::Range(low, high));
}

// The library's own check takes "nan", which is neither below a limit nor above one.
ValueCheck number_between(double low, double high) {
  const auto fault = [low, high](const std::string& text) -> std::string {
    double value = 0;
    const bool good = CLI::detail::lexical_cast(text, value) && value >= low && value <= high;
    if (good) return {};
    const std::string expected = high == any_size
                                     ? "a number, " + plain_decimal(low) + " or more"
                                     : plain_decimal(low) + " to " + plain_decimal(high);
    return "expected " + expected + ", found '" + text + '\'';
  };
  return {[fault](std::string& text) { return fault(text); }, "NUMBER"};
}

CommandOption& CommandOption::type_name(const std::string& name) {
  option_->type_name(name);
  return *this;
}

CommandOption& CommandOption::required() {
  option_->required();
  return *this;
}

CommandOption& CommandOption::check(ValueCheck check) {
  option_->check(CLI::Validator(std::move(check.fault), std::move(check.type_note)));
  return *this;
}

CommandOption& CommandOption::transform(std::function<std::string(std::string&)> rewrite) {
  option_->transform(CLI::Validator(std::move(rewrite), ""));
  return *this;
}

CommandOption& CommandOption::needs(const CommandOption& other) {
  option_->needs(other.option_);
  return *this;
}

CommandOption& CommandOption::excludes(const CommandOption& other) {
  option_->excludes(other.option_);
  return *this;
}

CommandOption& CommandOption::expected(int count) {
  option_->expected(count);
  return *this;
}

CommandOption& CommandOption::one_value_each() {
  option_->allow_extra_args(false);
  return *this;
}

CommandOption& CommandOption::capture_default_str() {
  option_->capture_default_str();
  return *this;
}

template <typename Value>
CommandOption CommandLine::add_option(const std::string& names, Value& value,
                                      const std::string& summary) {
  return CommandOption(*app_->add_option(names, value, summary));
}

CommandOption CommandLine::add_flag(const std::string& names, bool& given,
                                    const std::string& summary) {
  return CommandOption(*app_->add_flag(names, given, summary));
}

CommandLine CommandLine::add_verb(const std::string& name, const std::string& summary) {
  CLI::App* verb = app_->add_subcommand(name, summary);
  verb->group("Commands");
  return CommandLine(*verb);
}

void CommandLine::when_chosen(std::function<void()> note) { app_->callback(std::move(note)); }

void CommandLine::require_verb(std::size_t least, std::size_t most) {
  app_->require_subcommand(least, most);
}

void CommandLine::footer(const std::string& text) { app_->footer(text); }

// What an option's value can be; another type is one more line here.
using Text = const std::string&;
template CommandOption CommandLine::add_option(Text, std::string&, Text);
template CommandOption CommandLine::add_option(Text, double&, Text);
template CommandOption CommandLine::add_option(Text, int&, Text);
template CommandOption CommandLine::add_option(Text, std::uint32_t&, Text);
template CommandOption CommandLine::add_option(Text, std::uint64_t&, Text);
template CommandOption CommandLine::add_option(Text, std::optional<std::string>&, Text);
template CommandOption CommandLine::add_option(Text, std::optional<double>&, Text);
template CommandOption CommandLine::add_option(Text, std::optional<std::int64_t>&, Text);
template CommandOption CommandLine::add_option(Text, std::optional<std::uint64_t>&, Text);
template CommandOption CommandLine::add_option(Text, std::vector<std::string>&, Text);
template CommandOption CommandLine::add_option(Text, std::vector<std::uint32_t>&, Text);

}  // namespace foundling
