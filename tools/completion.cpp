#include "tools/completion.h"

#include <filesystem>
#include <iostream>
#include <memory>
#include <string>

#include "tools/command_line.h"
#include "tools/command_tree.h"
#include "tools/completion_scripts.h"
#include "tools/manual_pages.h"
#include "tools/text_file.h"

namespace foundling {
namespace {

std::function<int()> declare_completion(CommandLine app) {
  auto shell = std::make_shared<std::string>();
  app.add_option("SHELL", *shell, "bash, zsh or fish")
      .required()
      .check(one_of({"bash", "zsh", "fish"}));
  app.footer(
      "cmake --install puts all three in place. By hand: bash and fish read the script with "
      "`source`,\n"
      "zsh finds it as _foundling in a folder of its fpath.\n"
      "\n"
      "Example: in this shell only\n"
      "  source <(foundling completion bash)");

  return [shell, app] {
    const CommandEntry program = command_tree(whole_program(app.declared()), "foundling");
    std::cout << (*shell == "bash"  ? bash_completion(program)
                  : *shell == "zsh" ? zsh_completion(program)
                                    : fish_completion(program));
    return exit_good;
  };
}

std::function<int()> declare_manual(CommandLine app) {
  auto folder = std::make_shared<std::string>();
  app.add_option("FOLDER", *folder, "Where the pages go; what is there of that name is replaced")
      .required();
  app.footer(
      "cmake --install puts the pages in place: man foundling, man foundling-decode.\n"
      "\n"
      "Example: read one without installing\n"
      "  foundling manual /tmp && man /tmp/foundling-decode.1");

  return [folder, app] {
    const CommandEntry program = command_tree(whole_program(app.declared()), "foundling");
    for (const ManualPage& page : manual_pages(program, FOUNDLING_VERSION)) {
      const auto path = (std::filesystem::path(*folder) / page.file).string();
      if (const auto written = replace_text_file(path, page.text); !written) {
        std::cerr << "foundling manual: error: " << written.error().message << '\n';
        return exit_trouble;
      }
    }
    return exit_good;
  };
}

}  // namespace

Command completion_command() {
  return {"completion", "Print a shell's completion script for this program", declare_completion};
}

Command manual_command() {
  return {"manual", "Write this program's manual pages into a folder", declare_manual};
}

}  // namespace foundling
