#include "daemon/options.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <memory>
#include <optional>

#include "daemon/config_file.h"
#include "schemas/values/bit_rate.h"
#include "schemas/values/nearest_word.h"
#include "schemas/values/usage_words.h"

namespace foundling {
namespace {

constexpr const char* footer =
    "It only listens: it never sends a data frame. The bus must be up already:\n"
    "  foundling bus up can0 --bit-rate 500000\n"
    "SIGTERM or Ctrl-C stops it cleanly. Write what you apply on the bench into the same capture\n"
    "with `foundling stimulus` while it records; `foundling status` shows how it is doing.\n"
    "A word on the command line outranks the configuration file. Instruments that are to be "
    "queried\n"
    "meanwhile stand in that file only; daemon/README.md has an example, which the package\n"
    "has as /usr/share/doc/foundlingd/README.md.\n"
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

// Without the library's notes on its checks: an error tells the limits.
class PlainHelp : public CLI::Formatter {
 public:
  PlainHelp() { column_width(26); }
  std::string make_option_opts(const CLI::Option* option) const override {
    const std::string type = option->get_type_name();
    if (type.empty()) return "";
    const std::string preset = option->get_default_str();
    return " " + type.substr(0, type.find(':')) + (preset.empty() ? "" : "=" + preset);
  }
};

CLI::Validator bit_rate_reader() {
  return CLI::Validator(
      [](std::string& text) {
        const auto rate = bit_rate_of(text);
        if (rate) text = std::to_string(*rate);
        return rate ? std::string() : expected_bit_rate(text);
      },
      "");
}

void declare_session(CLI::App& app, Options& options) {
  app.add_option("--interface", options.interfaces,
                 "CAN interface to record; again for more (bus 0, 1, ...)")
      ->type_name("NAME")
      ->expected(1, 255)
      ->allow_extra_args(false);
  app.add_option("--capture", options.capture,
                 "capture file; a new one is made, an existing one gets a further session")
      ->type_name("FILE");
  app.add_option("--pack", options.pack, "which pack, for the record")->type_name("TEXT");
  app.add_option("--board", options.board, "which board, for the record")->type_name("TEXT");
  app.add_option("--note", options.note, "anything else worth knowing later")->type_name("TEXT");
  app.add_option("--bit-rate", options.bit_rate,
                 "of the bus in bit/s, such as 500k, for the record")
      ->type_name("N")
      ->transform(bit_rate_reader())
      ->check(CLI::Range(1LL, 1'000'000LL));
  app.add_option("--data-bit-rate", options.data_bit_rate,
                 "of FD data in bit/s, such as 2M, for the record")
      ->type_name("N")
      ->transform(bit_rate_reader())
      ->check(CLI::Range(1LL, 20'000'000LL));
}

void declare_working(CLI::App& app, Options& options) {
  app.add_option("--socket-buffer", options.socket_buffer_kib,
                 "KiB the kernel may hold for us while we are busy (768 bytes a frame)")
      ->type_name("KIB")
      ->check(CLI::Range(1, 262'144))
      ->capture_default_str();
  app.add_option("--restart-after", options.restart_after_s,
                 "seconds after which a controller that left the bus is restarted; 0 never")
      ->type_name("S")
      ->check(CLI::Range(0.0, 86'400.0))
      ->capture_default_str();
  app.add_option("--roll-size", options.roll_mib,
                 "go on in a new file at this size; FILE is then a link to the present one")
      ->type_name("MIB")
      ->check(CLI::Range(1, 16'777'216));
  app.add_option("--roll-hours", options.roll_hours, "go on in a new file after so many hours")
      ->type_name("H")
      ->check(CLI::Range(0.001, 87'660.0));
  app.add_option("--keep", options.keep_files,
                 "remove the oldest rolled files, so that so many stay; without it all stay")
      ->type_name("N")
      ->check(CLI::Range(1, 1'000'000));
  app.add_option("--disk-reserve", options.disk_reserve_mib,
                 "MiB of the disk that are left alone; 0 none")
      ->type_name("MIB")
      ->check(CLI::Range(0, 16'777'216))
      ->capture_default_str();
  app.add_option("--config", options.config, "read these settings from a TOML file")
      ->type_name("FILE");
  app.add_flag("--check-config", options.check_config,
               "say whether the configuration is good, and record nothing");
}

// What no single option can tell. An empty text: all is well.
std::string fault_of(const Options& options) {
  if (options.interfaces.empty()) return "--interface is missing: which one is to be recorded?";
  if (options.capture.empty()) return "--capture is missing: the file to record into";
  std::vector<std::string> names = options.interfaces;
  std::ranges::sort(names);
  if (const auto twice = std::ranges::adjacent_find(names); twice != names.end()) {
    return "--interface: " + *twice + " is named twice";
  }
  if (options.keep_files > 0 && !options.file_policy().rolls()) {
    return "--keep needs --roll-size or --roll-hours: only rolled files are ever removed";
  }
  return {};
}

// Parses the words over what `options` holds already; the exit status where that ends the matter.
std::optional<int> parse(int argc, const char* const* argv, Options& options, bool complete) {
  CLI::App app{
      "foundlingd records CAN interfaces into a capture file, without losing a frame unseen.",
      "foundlingd"};
  app.formatter(std::make_shared<PlainHelp>());
  app.set_help_flag("-h,--help", "print this page");
  app.set_version_flag("--version", "foundlingd " FOUNDLING_VERSION, "print the version");
  declare_session(app, options);
  declare_working(app, options);
  app.footer(footer);
  app.failure_message([](const CLI::App* parsed, const CLI::Error& problem) {
    return "foundlingd: error: " +
           unknown_option(*parsed).value_or(plain_usage_words(problem.what())) +
           "\nfoundlingd --help shows what it takes, with an example.\n";
  });
  try {
    app.parse(argc, argv);
    const std::string fault = complete ? fault_of(options) : std::string();
    if (!fault.empty()) throw CLI::ValidationError(fault);
  } catch (const CLI::ParseError& problem) {
    return app.exit(problem) == 0 ? 0 : 2;
  }
  return std::nullopt;
}

}  // namespace

FilePolicy Options::file_policy() const {
  constexpr double hour_ns = 3600e9;
  FilePolicy policy;
  policy.roll_bytes = static_cast<std::uint64_t>(roll_mib) << 20U;
  policy.roll_after_ns = std::llround(roll_hours * hour_ns);
  policy.keep = static_cast<std::size_t>(keep_files);
  policy.reserve_bytes = static_cast<std::uint64_t>(disk_reserve_mib) << 20U;
  return policy;
}

std::variant<Options, int> read_options(int argc, const char* const* argv) {
  Options typed;
  if (const auto status = parse(argc, argv, typed, false)) return *status;
  Options options;
  if (!typed.config.empty()) {
    const auto faults = read_config_file(typed.config, options);
    for (const std::string& fault : faults) std::fprintf(stderr, "%s\n", fault.c_str());
    if (!faults.empty()) return 2;
  }
  if (const auto status = parse(argc, argv, options, true)) return *status;
  if (!options.check_config) return options;
  std::fprintf(stderr, "foundlingd: the configuration is good\n");
  return 0;
}

}  // namespace foundling
