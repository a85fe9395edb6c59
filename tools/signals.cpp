// `foundling signals`: check, format and list signal maps.
#include "tools/signals.h"

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include "schemas/signals/format.h"
#include "tools/signal_file.h"
#include "tools/signal_list.h"
#include "tools/text_file.h"

namespace foundling {
namespace {

struct Wanted {
  std::vector<std::string> files;
  bool check_only = false;
  bool json = false;
};

int fail(const Error& error) {
  std::cerr << "foundling signals: error: " << error.message << '\n';
  return exit_trouble;
}

int check(const Wanted& wanted) {
  int status = exit_good;
  for (const std::string& path : wanted.files) {
    const auto file = read_signal_file(path);
    if (!file) {
      status = fail(file.error());
      continue;
    }
    std::cerr << describe(file->read.diagnostics, path, file->text);
    if (!file->read.ok()) {
      status = exit_trouble;
      continue;
    }
    std::cout << path << ": good, " << file->read.map.messages.size() << " messages, "
              << fields_of(file->read.map).size() << " signals\n";
  }
  return status;
}

// One file; with --check only says whether it would change.
Result<int> format_one(const std::string& path, bool check_only) {
  const auto file = load_signal_file(path, std::cerr);
  if (!file) return file.error();
  const std::string text = format(file->read.document);
  if (check_only) {
    if (text == file->text) return exit_good;
    std::cerr << path << ": not formatted\n";
    return exit_findings;
  }
  if (path == "-") {
    std::cout << text;
    return exit_good;
  }
  if (text == file->text) return exit_good;
  const auto written = replace_text_file(path, text);
  if (!written) return written.error();
  std::cerr << path << ": formatted\n";
  return exit_good;
}

int format_all(const Wanted& wanted) {
  int status = exit_good;
  for (const std::string& path : wanted.files) {
    const auto done = format_one(path, wanted.check_only);
    status = std::max(status, done ? *done : fail(done.error()));
  }
  return status;
}

int list(const Wanted& wanted) {
  const auto file = load_signal_file(wanted.files.front(), std::cerr);
  if (!file) return fail(file.error());
  std::cout << (wanted.json ? list_as_json(file->read.map) : list_as_text(file->read.map));
  return exit_good;
}

using Run = int (*)(const Wanted&);

CLI::App* add(CLI::App& app, const char* name, const char* summary, Run& chosen, Run run) {
  CLI::App* sub = app.add_subcommand(name, summary);
  sub->group("Commands");
  sub->callback([&chosen, run] { chosen = run; });
  return sub;
}

// Shared by the three subcommands, which never run together.
struct Shared {
  Wanted wanted;
  Run chosen = nullptr;
};

std::function<int()> declare(CLI::App& app) {
  auto shared = std::make_shared<Shared>();
  app.require_subcommand(1);

  CLI::App* sub =
      add(app, "check", "Read maps and say what is wrong with them", shared->chosen, check);
  sub->add_option("FILE", shared->wanted.files, "Signal maps; - is stdin")->required();
  sub->footer("Example: look at a map after editing it\n  foundling signals check tractor.signals");

  sub = add(app, "format", "Lay maps out the one way; every comment is kept", shared->chosen,
            format_all);
  sub->add_option("FILE", shared->wanted.files,
                  "Signal maps, rewritten in place; - is stdin to stdout")
      ->required();
  sub->add_flag("--check", shared->wanted.check_only,
                "Write nothing; exit status 1 where a file would change");
  sub->footer("Example: before a commit\n  foundling signals format --check tractor.signals");

  sub = add(app, "list", "List a map's signals, series spread out", shared->chosen, list);
  sub->add_option("FILE", shared->wanted.files, "A signal map; - is stdin")
      ->required()
      ->expected(1);
  sub->add_flag("--json", shared->wanted.json, "JSON instead of a table");
  sub->footer("Example: what a map says\n  foundling signals list tractor.signals");

  app.footer("Example: look at a map after editing it\n  foundling signals check tractor.signals");
  return [shared] { return shared->chosen(shared->wanted); };
}

}  // namespace

Command signals_command() { return {"signals", "Check, format and list signal maps", declare}; }

}  // namespace foundling
