#include "tools/help_page.h"

#include <sstream>

namespace foundling {
namespace {

constexpr std::size_t page_width = 100;

// "  term        words words words", the words wrapped under themselves. A term that is too long
// for its column gets a line of its own.
std::string entry(const std::string& term, const std::string& words, std::size_t column) {
  std::string out = "  " + term;
  std::size_t at = out.size();
  if (at + 2 > column) {
    out += '\n';
    at = 0;
  }
  out.append(column - at, ' ');
  at = column;
  std::istringstream in(words);
  std::string word;
  while (in >> word) {
    if (at > column && at + 1 + word.size() > page_width) {
      out += '\n' + std::string(column, ' ');
      at = column;
    }
    if (at > column) {
      out += ' ';
      ++at;
    }
    out += word;
    at += word.size();
  }
  return out + '\n';
}

}  // namespace

HelpPage::HelpPage() {
  column_width(32);
  label("REQUIRED", "(required)");
  label("Positionals", "Arguments");
  label("OPTIONS", "options");
  label("SUBCOMMAND", "COMMAND");
}

// The library would add a sentence on how many options are needed; the usage line says it.
std::string HelpPage::make_description(const CLI::App* app) const {
  return app->get_description() + "\n\n";
}

std::string HelpPage::make_option(const CLI::Option* option, bool positional) const {
  return entry(make_option_name(option, positional) + make_option_opts(option),
               make_option_desc(option), get_column_width());
}

std::string HelpPage::make_subcommand(const CLI::App* sub) const {
  return entry(sub->get_name(), sub->get_description(), get_column_width() / 2);
}

}  // namespace foundling
