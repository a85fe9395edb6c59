#include "tools/completion_scripts.h"

#include <functional>

namespace foundling {
namespace {

using Visit = std::function<void(const CommandEntry&)>;

void each_command(const CommandEntry& command, const Visit& visit) {
  visit(command);
  for (const CommandEntry& sub : command.commands) each_command(sub, visit);
}

// 'it'\''s' for all three shells (fish takes it too).
std::string quoted(const std::string& text) {
  std::string out = "'";
  for (const char c : text) out += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return out + "'";
}

// A description fits on one line beside its option.
std::string brief(const std::string& summary) {
  std::string text = summary.substr(0, summary.find_first_of(";\n"));
  constexpr std::size_t longest = 70;
  if (text.size() <= longest) return text;
  text.resize(text.rfind(' ', longest));
  return text + " ...";
}

std::string joined(const std::vector<std::string>& words) {
  std::string out;
  for (const std::string& word : words) out += (out.empty() ? "" : " ") + word;
  return out;
}

// 'foundling signals'|'foundling signals check'|...: which words lead to a command.
std::string all_paths(const CommandEntry& program, const std::string& between) {
  std::string out;
  for (const CommandEntry& sub : program.commands) {
    each_command(sub, [&](const CommandEntry& command) {
      out += (out.empty() ? "" : between) + quoted(command.path);
    });
  }
  return out;
}

// For every option with a value: what stands before the value.
using VisitValue = std::function<void(const std::string& before, const OptionEntry&)>;
void each_value(const CommandEntry& program, const VisitValue& visit) {
  each_command(program, [&](const CommandEntry& command) {
    for (const OptionEntry& option : command.options) {
      if (option.value.empty()) continue;
      for (const std::string& name : option.names) visit(command.path + ' ' + name, option);
    }
  });
}

constexpr const char* heading =
    "completion of foundling, made by the program itself: foundling completion ";

}  // namespace

std::string bash_completion(const CommandEntry& program) {
  std::string out =
      std::string("# bash ") + heading + "bash\n" +
      "_foundling() {\n"
      "  local current=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]}\n"
      "  local place=foundling words= subs= i\n"
      "  for ((i = 1; i < COMP_CWORD; i++)); do\n"
      "    case \"$place ${COMP_WORDS[i]}\" in\n      " +
      all_paths(program, " | ") +
      ") place+=\" ${COMP_WORDS[i]}\" ;;\n"
      "    esac\n"
      "  done\n"
      "  COMPREPLY=()\n"
      "  case \"$place $before\" in\n";
  each_value(program, [&](const std::string& before, const OptionEntry& option) {
    out += "    " + quoted(before) + ") ";
    if (!option.choices.empty()) {
      out += "mapfile -t COMPREPLY < <(compgen -W " + quoted(joined(option.choices)) +
             " -- \"$current\"); ";
    }
    out += "return ;;\n";
  });
  out += "  esac\n  case \"$place\" in\n";
  each_command(program, [&](const CommandEntry& command) {
    std::vector<std::string> options;
    for (const OptionEntry& option : command.options) {
      options.insert(options.end(), option.names.begin(), option.names.end());
    }
    std::vector<std::string> subs;
    for (const CommandEntry& sub : command.commands) subs.push_back(sub.name);
    for (const OptionEntry& argument : command.arguments) {
      subs.insert(subs.end(), argument.choices.begin(), argument.choices.end());
    }
    out += "    " + quoted(command.path) + ") words=" + quoted(joined(options)) +
           " subs=" + quoted(joined(subs)) + " ;;\n";
  });
  return out +
         "  esac\n"
         "  [[ $current == -* ]] || words=$subs\n"
         "  mapfile -t COMPREPLY < <(compgen -W \"$words\" -- \"$current\")\n"
         "}\n"
         "complete -o default -o bashdefault -F _foundling foundling\n";
}

std::string zsh_completion(const CommandEntry& program) {
  std::string out = std::string("#compdef foundling\n# zsh ") + heading + "zsh\n" +
                    "_foundling() {\n"
                    "  local place=foundling word\n"
                    "  local -a options subs\n"
                    "  for word in ${words[2,CURRENT-1]}; do\n"
                    "    case \"$place $word\" in\n      (" +
                    all_paths(program, "|") +
                    ") place+=\" $word\" ;;\n"
                    "    esac\n"
                    "  done\n"
                    "  case \"$place ${words[CURRENT-1]}\" in\n";
  each_value(program, [&](const std::string& before, const OptionEntry& option) {
    out += "    (" + quoted(before) + ") ";
    out += option.choices.empty() ? "_files" : "compadd -- " + joined(option.choices);
    out += "; return ;;\n";
  });
  out += "  esac\n  case \"$place\" in\n";
  each_command(program, [&](const CommandEntry& command) {
    out += "    (" + quoted(command.path) + ")\n      options=(";
    for (const OptionEntry& option : command.options) {
      for (const std::string& name : option.names) {
        out += "\n        " + quoted(name + ':' + brief(option.summary));
      }
    }
    out += ")\n      subs=(";
    for (const CommandEntry& sub : command.commands) {
      out += "\n        " + quoted(sub.name + ':' + brief(sub.summary));
    }
    for (const OptionEntry& argument : command.arguments) {
      for (const std::string& choice : argument.choices) out += "\n        " + quoted(choice);
    }
    out += ") ;;\n";
  });
  return out +
         "  esac\n"
         "  if [[ ${words[CURRENT]} == -* ]]; then\n"
         "    _describe option options\n"
         "  elif (( ${#subs} )); then\n"
         "    _describe command subs\n"
         "  else\n"
         "    _files\n"
         "  fi\n"
         "}\n"
         "if [[ ${funcstack[1]} == _foundling ]]; then\n"
         "  _foundling \"$@\"\n"
         "else\n"
         "  compdef _foundling foundling\n"
         "fi\n";
}

std::string fish_completion(const CommandEntry& program) {
  std::string out = std::string("# fish ") + heading + "fish\n" +
                    "function __foundling_place\n"
                    "    set -l place foundling\n"
                    "    for word in (commandline -opc)[2..-1]\n"
                    "        switch \"$place $word\"\n            case " +
                    all_paths(program, " ") +
                    "\n                set place \"$place $word\"\n"
                    "        end\n"
                    "    end\n"
                    "    echo $place\n"
                    "end\n"
                    "function __foundling_at\n"
                    "    test (__foundling_place) = \"$argv\"\n"
                    "end\n";
  each_command(program, [&](const CommandEntry& command) {
    const std::string here = "complete -c foundling -n " + quoted("__foundling_at " + command.path);
    for (const CommandEntry& sub : command.commands) {
      out += here + " -f -a " + sub.name + " -d " + quoted(brief(sub.summary)) + '\n';
    }
    for (const OptionEntry& argument : command.arguments) {
      if (argument.choices.empty()) continue;
      out += here + " -f -a " + quoted(joined(argument.choices)) + '\n';
    }
    for (const OptionEntry& option : command.options) {
      out += here;
      for (const std::string& name : option.names) {
        out += name[1] == '-' ? " -l " + name.substr(2) : " -s " + name.substr(1);
      }
      if (!option.value.empty()) out += " -r";
      if (!option.choices.empty()) out += " -f -a " + quoted(joined(option.choices));
      out += " -d " + quoted(brief(option.summary)) + '\n';
    }
  });
  return out;
}

}  // namespace foundling
