#include "daemon/options.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <optional>

#include "schemas/values/nearest_word.h"

namespace foundling {
namespace {

constexpr const char* footer =
    "It only listens: it never sends a data frame. The bus must be up already:\n"
    "  ip link set can0 up type can bitrate 500000\n"
    "SIGTERM or Ctrl-C stops it cleanly. Write what you apply on the bench into the same capture\n"
    "with `foundling stimulus` while it records.\n"
    "\n"
    "Exit status: 0 stopped when asked; 2 bad arguments, or frames that could not be stored.\n"
    "\n"
    "Example:\n"
    "  foundlingd --interface can0 --capture tractor-1.capture --pack \"orchard tractor\" \\\n"
    "    --note \"shunt leads on the bench source\" --bit-rate 500000";

// An unknown option outranks whatever else is wrong: a missing one is often the mistyped one.
std::optional<std::string> unknown_option(const CLI::App& app) {
  for (const std::string& word : app.remaining()) {
    if (word.size() < 2 || word.front() != '-' || word == "--") continue;
    std::vector<std::string> known;
    for (const CLI::Option* option : app.get_options()) {
      for (const std::string& name : option->get_lnames()) known.push_back("--" + name);
    }
    const std::string name = word.substr(0, word.find('='));
    const auto near = nearest_word(name, known);
    return "unknown option '" + name + "'" + (near ? "; did you mean '" + *near + "'?" : "");
  }
  return std::nullopt;
}

void declare(CLI::App& app, Options& options) {
  app.set_version_flag("--version", "foundlingd " FOUNDLING_VERSION);
  app.add_option("--interface", options.interfaces,
                 "CAN interface to record; again for more (bus 0, 1, ...)")
      ->required()
      ->type_name("NAME")
      ->expected(1, 255)
      ->allow_extra_args(false);
  app.add_option("--capture", options.capture,
                 "capture file; a new one is made, an existing one gets a further session")
      ->required()
      ->type_name("FILE");
  app.add_option("--pack", options.pack, "which pack, for the record")->type_name("TEXT");
  app.add_option("--board", options.board, "which board, for the record")->type_name("TEXT");
  app.add_option("--note", options.note, "anything else worth knowing later")->type_name("TEXT");
  app.add_option("--bit-rate", options.bit_rate, "of the bus in bit/s, for the record")
      ->type_name("N")
      ->check(CLI::Range(1LL, 1'000'000LL));
  app.add_option("--data-bit-rate", options.data_bit_rate, "of FD data in bit/s, for the record")
      ->type_name("N")
      ->check(CLI::Range(1LL, 20'000'000LL));
  app.add_option("--socket-buffer", options.socket_buffer_kib,
                 "KiB the kernel may hold for us while we are busy (768 bytes a frame)")
      ->type_name("KIB")
      ->check(CLI::Range(1, 262'144))
      ->capture_default_str();
  app.footer(footer);
  app.failure_message([](const CLI::App* parsed, const CLI::Error& problem) {
    return "foundlingd: error: " + unknown_option(*parsed).value_or(problem.what()) +
           "\nfoundlingd --help shows what it takes, with an example.\n";
  });
}

}  // namespace

std::variant<Options, int> read_options(int argc, const char* const* argv) {
  Options options;
  CLI::App app{
      "foundlingd records CAN interfaces into a capture file, without losing a frame unseen.",
      "foundlingd"};
  declare(app, options);
  try {
    app.parse(argc, argv);
    std::vector<std::string> names = options.interfaces;
    std::ranges::sort(names);
    if (const auto twice = std::ranges::adjacent_find(names); twice != names.end()) {
      throw CLI::ValidationError("--interface", *twice + " is named twice");
    }
  } catch (const CLI::ParseError& problem) {
    return app.exit(problem) == 0 ? 0 : 2;
  }
  return options;
}

}  // namespace foundling
