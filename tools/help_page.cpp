#include "tools/help_page.h"

#include <unistd.h>

#include <algorithm>
#include <sstream>

#include "decoder/report/paragraph.h"
#include "tools/text_width.h"

namespace foundling {
namespace {

// As wide as the terminal, within reason.
std::size_t page_width() {
  constexpr std::size_t widest = 100;
  constexpr std::size_t narrowest = 60;
  return std::clamp(text_width(STDOUT_FILENO), narrowest, widest);
}

// Sentences over several lines made one paragraph each, a new one for each example; what is
// indented stays as it is.
std::string reflowed(const std::string& text) {
  std::istringstream in(text);
  std::string out, sentences;
  const auto end_paragraph = [&] {
    out += paragraph(sentences, 0, page_width(), 0);
    sentences.clear();
  };
  for (std::string line; std::getline(in, line);) {
    if (line.starts_with("Example")) end_paragraph();
    if (!line.empty() && line[0] != ' ') {
      sentences += (sentences.empty() ? "" : " ") + line;
      continue;
    }
    end_paragraph();
    out += line + '\n';
  }
  end_paragraph();
  return out;
}

// "  term        words words words", the words wrapped under themselves. A term that is too long
// for its column gets a line of its own.
std::string entry(const std::string& term, const std::string& words, std::size_t column) {
  const std::size_t width = page_width();
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
    if (at > column && at + 1 + word.size() > width) {
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

// "N" of "N:INT in [1 - 9]": what a value is called, without the library's notes on its checks.
std::string value_name(const CLI::Option* option) {
  const std::string type = option->get_type_name();
  return type.substr(0, type.find(':'));
}

}  // namespace

HelpPage::HelpPage() {
  column_width(32);
  label("Positionals", "Arguments");
  label("OPTIONS", "options");
  label("SUBCOMMAND", "COMMAND");
}

// The library would add a sentence on how many options are needed; the usage line says it.
std::string HelpPage::make_description(const CLI::App* app) const {
  return reflowed(app->get_description()) + '\n';
}

std::string HelpPage::make_footer(const CLI::App* app) const { return reflowed(app->get_footer()); }

std::string HelpPage::make_option(const CLI::Option* option, bool positional) const {
  std::string term = make_option_name(option, positional);
  if (const std::size_t comma = term.find(','); comma != std::string::npos) {
    term.insert(comma + 1, " ");
  }
  const bool takes_value = option->get_type_size() != 0;
  if (takes_value && !positional) term += " " + value_name(option);
  std::string words = option->get_description();
  if (takes_value && !option->get_default_str().empty()) {
    words += " (default " + option->get_default_str() + ")";
  }
  if (option->get_required() && !positional) words += " (required)";
  for (const CLI::Option* needed : option->get_needs()) {
    words += " (with " + needed->get_name() + ")";
  }
  std::string excluded;
  for (const CLI::Option* other : option->get_excludes()) {
    excluded += (excluded.empty() ? " (not with " : ", ") + other->get_name();
  }
  if (!excluded.empty()) words += excluded + ')';
  return entry(term, words, get_column_width());
}

std::string HelpPage::make_subcommand(const CLI::App* sub) const {
  return entry(sub->get_name(), sub->get_description(), get_column_width() / 2);
}

}  // namespace foundling
