// The look of every help page: what, usage, options in two columns wrapped at the terminal's width,
// footer. Only main.cpp and the tests include it; subcommands inherit it from the program.
#pragma once

#include <CLI/CLI.hpp>
#include <string>

namespace foundling {

class HelpPage : public CLI::Formatter {
 public:
  HelpPage();
  [[nodiscard]] std::string make_description(const CLI::App* app) const override;
  [[nodiscard]] std::string make_footer(const CLI::App* app) const override;
  [[nodiscard]] std::string make_option(const CLI::Option* option, bool positional) const override;
  [[nodiscard]] std::string make_subcommand(const CLI::App* sub) const override;
};

}  // namespace foundling
