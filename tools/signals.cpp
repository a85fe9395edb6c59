// `foundling signals`: check, format, list, compare and merge signal maps.
#include "tools/signals.h"

#include <unistd.h>

#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include "schemas/signals/format.h"
#include "tools/command_line.h"
#include "tools/shown_streams.h"
#include "tools/signal_file.h"
#include "tools/signal_list.h"
#include "tools/signals_files.h"
#include "tools/text_file.h"
#include "tools/text_width.h"

namespace foundling {
namespace {

struct Wanted {
  std::vector<std::string> files;
  bool check_only = false;
  bool json = false;
  MergeWanted merge;
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
    put_exactly(text);
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
  std::cout << (wanted.json ? list_as_json(file->read.map)
                            : list_as_text(file->read.map, text_width(STDOUT_FILENO)));
  return exit_good;
}

int compare(const Wanted& wanted) {
  return compare_map_files(wanted.files[0], wanted.files[1], wanted.json);
}
int merge(const Wanted& wanted) { return merge_map_files(wanted.merge); }
int to_json(const Wanted& wanted) { return map_to_json(wanted.files.front()); }
int from_json(const Wanted& wanted) { return map_from_json(wanted.files.front()); }

using Run = int (*)(const Wanted&);

CommandLine add(CommandLine app, const char* name, const char* summary, Run& chosen, Run run) {
  CommandLine sub = app.add_verb(name, summary);
  sub.when_chosen([&chosen, run] { chosen = run; });
  return sub;
}

// Shared by the subcommands, which never run together.
struct Shared {
  Wanted wanted;
  Run chosen = nullptr;
};

void declare_check(CommandLine app, Shared& shared) {
  CommandLine sub =
      add(app, "check", "Read maps and say what is wrong with them", shared.chosen, check);
  sub.add_option("FILE", shared.wanted.files, "Signal maps; - is stdin").required();
  sub.footer(
      "Example: look at a map after editing it\n"
      "  foundling signals check captures_demo/tractor.signals");
}

void declare_format(CommandLine app, Shared& shared) {
  CommandLine sub = add(app, "format", "Lay maps out the one way; every comment is kept",
                        shared.chosen, format_all);
  sub.add_option("FILE", shared.wanted.files,
                 "Signal maps, rewritten in place; - is stdin to stdout")
      .required();
  sub.add_flag("--check", shared.wanted.check_only,
               "Write nothing; exit status 1 where a file would change");
  sub.footer(
      "Example: before a commit\n"
      "  foundling signals format --check captures_demo/tractor.signals");
}

void declare_list(CommandLine app, Shared& shared) {
  CommandLine sub =
      add(app, "list", "List a map's signals, series spread out", shared.chosen, list);
  sub.add_option("FILE", shared.wanted.files, "A signal map; - is stdin").required().expected(1);
  sub.add_flag("--json", shared.wanted.json, "JSON instead of a table");
  sub.footer(
      "Example: what a map says\n"
      "  foundling signals list captures_demo/tractor.signals");
}

void declare_compare(CommandLine app, Shared& shared) {
  CommandLine sub =
      add(app, "compare", "Say what two maps say differently, by meaning", shared.chosen, compare);
  sub.add_option("OLD_NEW", shared.wanted.files, "Two signal maps; - is stdin")
      .required()
      .expected(2);
  sub.add_flag("--json", shared.wanted.json, "JSON instead of lines");
  sub.footer(
      "Exit status 1 means that they differ. Order, layout and comments make no difference.\n"
      "\n"
      "Example: what an edit changed\n"
      "  foundling signals compare captures_demo/tractor.signals my-tractor.signals");
}

void declare_merge(CommandLine app, Shared& shared) {
  CommandLine sub = add(app, "merge", "Merge two people's maps, or new findings into a map",
                        shared.chosen, merge);
  MergeWanted& wanted = shared.wanted.merge;
  sub.add_option("OURS", wanted.ours, "The map to merge into").required();
  sub.add_option("THEIRS", wanted.theirs, "The map to merge").required();
  CommandOption base =
      sub.add_option("--base", wanted.base, "The map that both began with; an empty file is none")
          .type_name("MAP");
  sub.add_flag("--findings", wanted.findings,
               "THEIRS is what a session found: it brings proposals up to date")
      .excludes(base);
  sub.add_flag("--in-place", wanted.in_place, "Rewrite OURS; default is to print the merged map");
  sub.add_option("--name", wanted.name, "What messages call the map; default OURS");
  sub.footer(
      "Confirmed signals stay; what contradicts them, and theirs in a conflict, is put beside as "
      "a\n"
      "comment. Exit status 1 means that there are conflicts. As the merge driver of git:\n"
      "  git config merge.signals.driver \"foundling signals merge --in-place --name %P --base %O "
      "%A %B\"\n"
      "  echo \"*.signals merge=signals\" >> .gitattributes\n"
      "\n"
      "Example: what a second person found\n"
      "  foundling signals merge captures_demo/tractor.signals my-tractor.signals --in-place");
}

void declare_json(CommandLine app, Shared& shared) {
  CommandLine sub =
      add(app, "to-json", "Print a map as JSON, without loss", shared.chosen, to_json);
  sub.add_option("FILE", shared.wanted.files, "A signal map; - is stdin").required().expected(1);
  sub.footer(
      "Example: for a program that edits maps\n"
      "  foundling signals to-json captures_demo/tractor.signals");
  sub = add(app, "from-json", "Print the map that a JSON file holds", shared.chosen, from_json);
  sub.add_option("FILE", shared.wanted.files, "A map as JSON; - is stdin").required().expected(1);
  sub.footer(
      "Example: there and back\n"
      "  foundling signals to-json captures_demo/tractor.signals | foundling signals from-json -");
}

std::function<int()> declare(CommandLine app) {
  auto shared = std::make_shared<Shared>();
  app.require_verb(1, 1);
  declare_check(app, *shared);
  declare_format(app, *shared);
  declare_list(app, *shared);
  declare_compare(app, *shared);
  declare_merge(app, *shared);
  declare_json(app, *shared);
  app.footer(
      "Example: look at a map after editing it\n"
      "  foundling signals check captures_demo/tractor.signals");
  return [shared] { return shared->chosen(shared->wanted); };
}

}  // namespace

Command signals_command() {
  return {"signals", "Check, format, list, compare and merge signal maps", declare};
}

}  // namespace foundling
