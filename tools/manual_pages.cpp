#include "tools/manual_pages.h"

#include <algorithm>
#include <sstream>

namespace foundling {
namespace {

// A backslash, a hyphen that must stay one, and a line that would be taken for a request.
std::string roff(const std::string& text) {
  std::string out;
  bool at_start = true;
  for (const char c : text) {
    if (at_start && (c == '.' || c == '\'')) out += "\\&";
    at_start = c == '\n';
    if (c == '\\') {
      out += "\\e";
    } else if (c == '-') {
      out += "\\-";
    } else {
      out += c;
    }
  }
  return out;
}

std::string page_name(const CommandEntry& command) {
  std::string name = command.path;
  std::ranges::replace(name, ' ', '-');
  return name;
}

// "Turn a capture's ..." -> "turn a capture's ...", and only its first sentence: what apropos
// shows.
std::string headline(const std::string& summary) {
  std::string text = summary.substr(0, summary.find(". "));
  std::ranges::replace(text, '\n', ' ');
  if (text.size() > 1 && (text[1] >= 'a' && text[1] <= 'z') && text[0] >= 'A' && text[0] <= 'Z') {
    text[0] = static_cast<char>(text[0] - 'A' + 'a');
  }
  while (!text.empty() && text.back() == '.') text.pop_back();
  return text;
}

std::string synopsis(const CommandEntry& command) {
  std::string out = ".B " + roff(command.path) + "\n[\\fIoptions\\fR]";
  for (const OptionEntry& argument : command.arguments) {
    const std::string name =
        "\\fI" + roff(argument.names.front()) + "\\fR" + (argument.repeated ? " ..." : "");
    out += ' ' + (argument.required ? name : '[' + name + ']');
  }
  if (!command.commands.empty()) out += " \\fIcommand\\fR ...";
  return out + '\n';
}

std::string item(const OptionEntry& entry, bool argument) {
  std::string out = ".TP\n";
  for (std::size_t i = 0; i < entry.names.size(); ++i) {
    out += (i == 0 ? "" : ", ") + std::string(argument ? "\\fI" : "\\fB") + roff(entry.names[i]) +
           "\\fR";
  }
  if (!argument && !entry.value.empty()) out += " \\fI" + roff(entry.value) + "\\fR";
  out += '\n' + roff(entry.summary);
  if (!entry.choices.empty()) {
    out += "; one of";
    for (const std::string& choice : entry.choices) out += ' ' + roff(choice);
  }
  return out + (entry.required && !argument ? " (required)" : "") + ".\n";
}

void add_section(std::string& out, const std::string& title, const std::string& text) {
  if (!text.empty()) out += ".SH " + title + '\n' + text;
}

// The footer's last part is an example; what comes before it, notes.
void add_footer(std::string& out, const std::string& footer) {
  const std::size_t example = footer.rfind("Example");
  const std::string before = footer.substr(0, example);
  std::istringstream lines(before);
  std::string notes;
  for (std::string line; std::getline(lines, line);) {
    notes += line.empty() ? (notes.empty() ? "" : ".PP\n") : roff(line) + '\n';
  }
  while (notes.ends_with(".PP\n")) notes.resize(notes.size() - 4);
  add_section(out, "NOTES", notes);
  if (example == std::string::npos) return;
  add_section(out, "EXAMPLES", ".nf\n" + roff(footer.substr(example)) + "\n.fi\n");
}

void add_pages(std::vector<ManualPage>& pages, const CommandEntry& command,
               const std::string& parent, const std::string& version) {
  const std::string name = page_name(command);
  std::string title = name;
  std::ranges::transform(title, title.begin(), [](char c) {
    return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
  });
  std::string out = ".TH \"" + roff(title) + "\" 1 \"\" \"foundling " + roff(version) +
                    "\" \"User Commands\"\n.nh\n.ad l\n";
  add_section(out, "NAME", roff(name) + " \\- " + roff(headline(command.summary)) + '\n');
  add_section(out, "SYNOPSIS", synopsis(command));
  add_section(out, "DESCRIPTION",
              roff(command.summary) + (command.summary.ends_with('.') ? "\n" : ".\n"));
  std::string text;
  for (const OptionEntry& argument : command.arguments) text += item(argument, true);
  add_section(out, "ARGUMENTS", text);
  text.clear();
  for (const OptionEntry& option : command.options) text += item(option, false);
  add_section(out, "OPTIONS", text);
  text.clear();
  for (const CommandEntry& sub : command.commands) {
    text += ".TP\n\\fB" + roff(sub.name) + "\\fR\n" + roff(sub.summary) + ". See \\fB" +
            roff(page_name(sub)) + "\\fR(1).\n";
  }
  add_section(out, "COMMANDS", text);
  add_footer(out, command.footer);
  add_section(out, "EXIT STATUS",
              "0 good; 1 findings, such as a failed check; 2 wrong usage or a file that cannot be "
              "read.\n");
  if (!parent.empty()) add_section(out, "SEE ALSO", "\\fB" + roff(parent) + "\\fR(1)\n");
  pages.push_back({name + ".1", std::move(out)});
  for (const CommandEntry& sub : command.commands) add_pages(pages, sub, name, version);
}

}  // namespace

std::vector<ManualPage> manual_pages(const CommandEntry& program, const std::string& version) {
  std::vector<ManualPage> pages;
  add_pages(pages, program, "", version);
  return pages;
}

}  // namespace foundling
