#include "daemon/config_file.h"

#include <toml++/toml.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <functional>
#include <utility>

#include "daemon/instruments/instrument_config.h"
#include "schemas/values/nearest_word.h"

namespace foundling {
namespace {

// Reads one setting; its complaint, or an empty text.
using Take = std::function<std::string(const toml::node&)>;

struct Setting {
  const char* name;  // "pack", or "roll.keep" within [roll]
  Take take;
};

template <typename T>
Take number(T& into, double least, double most) {
  return [&into, least, most](const toml::node& node) -> std::string {
    const bool whole = std::is_integral_v<T>;
    const auto value = node.value<double>();
    if (!value || !node.is_number() || (whole && !node.is_integer())) {
      return whole ? "expected a whole number" : "expected a number";
    }
    if (!(*value >= least && *value <= most)) {
      std::ostringstream range;
      range.precision(12);
      range << "expected " << least << " to " << most << ", found " << *value;
      return range.str();
    }
    into = static_cast<T>(*value);
    return {};
  };
}

template <typename T>
Take text(T& into) {
  return [&into](const toml::node& node) -> std::string {
    const auto value = node.value<std::string>();
    if (!value) return "expected a text in quotes";
    into = *value;
    return {};
  };
}

Take names(std::vector<std::string>& into) {
  return [&into](const toml::node& node) -> std::string {
    const char* const expected = "expected a list of names, like [\"can0\"]";
    const toml::array* const list = node.as_array();
    if (list == nullptr || list->empty() || list->size() > 255) return expected;
    into.clear();
    for (const toml::node& one : *list) {
      const auto name = one.value<std::string>();
      if (!name || name->empty()) return expected;
      if (std::ranges::count(into, *name) > 0) return *name + " is named twice";
      into.push_back(*name);
    }
    return {};
  };
}

// The command line's settings, with its limits.
std::vector<Setting> settings(Options& options) {
  constexpr double most_mib = 16'777'216;
  return {
      {"interfaces", names(options.interfaces)},
      {"capture", text(options.capture)},
      {"pack", text(options.pack)},
      {"board", text(options.board)},
      {"note", text(options.note)},
      {"bit-rate", number(options.bit_rate, 1, 1e6)},
      {"data-bit-rate", number(options.data_bit_rate, 1, 20e6)},
      {"socket-buffer-kib", number(options.socket_buffer_kib, 1, 262'144)},
      {"restart-after-s", number(options.restart_after_s, 0, 86'400)},
      {"disk-reserve-mib", number(options.disk_reserve_mib, 0, most_mib)},
      {"roll.size-mib", number(options.roll_mib, 1, most_mib)},
      {"roll.hours", number(options.roll_hours, 0.001, 87'660)},
      {"roll.keep", number(options.keep_files, 1, 1e6)},
  };
}

struct Fault {
  toml::source_position place;
  std::string words;
};

class ConfigReading {
 public:
  ConfigReading(std::string file, Options& options)
      : file_(std::move(file)), options_(options), settings_(settings(options)) {}

  void take(const toml::table& table, const std::string& within) {
    for (const auto& [key, node] : table) {
      const std::string name = within + std::string(key.str());
      if (const toml::table* const inner = node.as_table(); inner != nullptr && name == "roll") {
        take(*inner, "roll.");
      } else if (name == "instrument") {
        options_.instruments =
            read_instruments(node, [this](const toml::source_region& place,
                                          const std::string& words) { fault(place, words); });
      } else {
        take_one(name, key.source(), node);
      }
    }
  }
  // What no single setting can tell.
  void check_whole(const toml::table& table, const Options& options) {
    const auto keep = table["roll"]["keep"];
    if (keep.node() == nullptr || options.keep_files == 0 || options.file_policy().rolls()) return;
    fault(keep.node()->source(),
          "roll.keep: needs roll.size-mib or roll.hours too: only rolled files are ever removed");
  }
  void fault(const toml::source_region& place, std::string words) {
    faults_.push_back({place.begin, std::move(words)});
  }
  // In the order of the file.
  [[nodiscard]] std::vector<std::string> faults() {
    std::ranges::stable_sort(faults_, {}, [](const Fault& fault) {
      return std::pair(fault.place.line, fault.place.column);
    });
    std::vector<std::string> lines;
    for (const Fault& fault : faults_) {
      lines.push_back(file_ + ':' + std::to_string(fault.place.line) + ':' +
                      std::to_string(fault.place.column) + ": error: " + fault.words);
    }
    return lines;
  }

 private:
  void take_one(const std::string& name, const toml::source_region& place, const toml::node& node) {
    std::vector<std::string> known;
    for (const Setting& setting : settings_) {
      if (name == setting.name) {
        const std::string complaint = setting.take(node);
        if (!complaint.empty()) fault(node.source(), name + ": " + complaint);
        return;
      }
      known.emplace_back(setting.name);
    }
    known.emplace_back("instrument");
    fault(place, "unknown setting \"" + name + "\"" + hint(name, known));
  }

  static std::string hint(const std::string& name, const std::vector<std::string>& known) {
    const std::string last = name.substr(name.find('.') + 1);
    if (last != name && std::ranges::count(known, last) > 0) {
      return "; \"" + last + "\" belongs above [roll]";
    }
    const auto near = nearest_word(name, known);
    return near ? "; did you mean \"" + *near + "\"?" : "";
  }

  std::string file_;
  Options& options_;
  std::vector<Setting> settings_;
  std::vector<Fault> faults_;
};

}  // namespace

std::vector<std::string> read_config(std::string_view content, const std::string& name,
                                     Options& options) {
  ConfigReading reading(name, options);
  try {
    const toml::table table = toml::parse(content, name);
    reading.take(table, "");
    reading.check_whole(table, options);
  } catch (const toml::parse_error& problem) {
    reading.fault(problem.source(), std::string(problem.description()));
  }
  return reading.faults();
}

std::vector<std::string> read_config_file(const std::filesystem::path& path, Options& options) {
  // Far beyond what a person writes; a device may never end.
  constexpr std::size_t longest = 1 << 20U;
  std::string content(longest + 1, '\0');
  std::ifstream file(path, std::ios::binary);
  if (file) file.read(content.data(), static_cast<std::streamsize>(content.size()));
  if (!file.eof() && !file) {
    return {path.string() + ": error: cannot read: " + std::strerror(errno)};
  }
  content.resize(static_cast<std::size_t>(file.gcount()));
  if (content.size() > longest) {
    return {path.string() + ": error: is longer than 1 MiB: no configuration"};
  }
  return read_config(content, path.string(), options);
}

}  // namespace foundling
