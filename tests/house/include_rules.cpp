#include "tests/house/include_rules.h"

#include <algorithm>
#include <array>

namespace foundling::house {
namespace {

// Reaching outside: files, terminals, clocks. A pure folder includes none of them.
constexpr std::array<std::string_view, 5> outside = {"chrono", "ctime", "filesystem", "fstream",
                                                     "iostream"};

bool begins_with(std::string_view text, std::string_view beginning) {
  return text.substr(0, beginning.size()) == beginning;
}

bool begins_with_any(std::string_view text, const std::vector<std::string_view>& beginnings) {
  return std::any_of(beginnings.begin(), beginnings.end(),
                     [text](std::string_view b) { return begins_with(text, b); });
}

// <vector> and <cstdint>, but not <unistd.h> or <sys/socket.h>.
bool is_standard(std::string_view header) {
  return header.find_first_of("./") == std::string_view::npos;
}

const IncludeRule* rule_for(std::string_view file) {
  const IncludeRule* best = nullptr;
  for (const IncludeRule& rule : include_rules()) {
    if (!begins_with(file, rule.folder)) continue;
    if (best == nullptr || rule.folder.size() > best->folder.size()) best = &rule;
  }
  return best;
}

// The header and its opening mark of `#include <x>` or `#include "x"`.
std::optional<std::pair<char, std::string_view>> included(std::string_view line) {
  const std::size_t hash = line.find_first_not_of(" \t");
  if (hash == std::string_view::npos || line[hash] != '#') return std::nullopt;
  const std::size_t word = line.find_first_not_of(" \t", hash + 1);
  if (word == std::string_view::npos || !begins_with(line.substr(word), "include")) {
    return std::nullopt;
  }
  const std::size_t open = line.find_first_of("<\"", word);
  if (open == std::string_view::npos) return std::nullopt;
  const std::size_t close = line.find_first_of(">\"", open + 1);
  return std::pair(line[open], line.substr(open + 1, close - open - 1));
}

}  // namespace

const std::vector<IncludeRule>& include_rules() {
  static const std::vector<std::string_view> system = {
      "sys/",     "linux/",    "net/",    "netinet/", "arpa/",     "fcntl.h",
      "unistd.h", "netdb.h",   "poll.h",  "signal.h", "termios.h", "pthread.h",
      "sched.h",  "ifaddrs.h", "spawn.h", "fnmatch.h"};
  static const auto with_system = [](std::vector<std::string_view> libraries) {
    libraries.insert(libraries.end(), system.begin(), system.end());
    return libraries;
  };
  static const std::vector<IncludeRule> rules = {
      {"schemas/values/", {"schemas/values/"}, {}, false},
      {"schemas/capture/",
       {"schemas/values/", "schemas/capture/"},
       with_system({"sqlite3.h", "SQLiteCpp/"})},
      {"schemas/link/",
       {"schemas/values/", "schemas/link/"},
       with_system({"libmnl/libmnl.h", "libsocketcan.h"})},
      {"schemas/signals/", {"schemas/values/", "schemas/signals/"}, {}, false},
      {"decoder/analysis/",
       {"schemas/values/", "decoder/transport/", "decoder/analysis/"},
       {"Eigen/", "boost/math/"},
       false},
      {"decoder/against/",
       {"schemas/values/", "decoder/analysis/survey.h", "decoder/against/"},
       {},
       false},
      {"decoder/bench/", {"schemas/values/", "schemas/signals/", "decoder/bench/"}, {}, false},
      {"decoder/decode/",
       {"schemas/values/", "schemas/signals/", "decoder/transport/", "decoder/decode/"},
       {},
       false},
      {"decoder/draft/",
       {"schemas/values/", "schemas/signals/", "decoder/analysis/", "decoder/bench/",
        "decoder/relate/", "decoder/draft/"},
       {},
       false},
      {"decoder/transport/", {"schemas/values/", "decoder/transport/"}, {}, false},
      {"decoder/relate/",
       {"schemas/values/", "decoder/analysis/survey.h", "decoder/analysis/proposal.h",
        "decoder/analysis/calibration.h", "decoder/analysis/line_fit.h",
        "decoder/analysis/round_numbers.h", "decoder/relate/"},
       {},
       false},
      {"decoder/report/",
       {"schemas/values/", "schemas/signals/", "decoder/"},
       {"nlohmann/"},
       false},
      {"decoder/touch/", {"schemas/values/", "decoder/touch/"}, {}, false},
      {"daemon/",
       {"schemas/values/", "schemas/capture/", "schemas/link/", "daemon/"},
       with_system({"boost/asio", "boost/system/", "spdlog/", "CLI/", "toml++/", "malloc.h",
                    "systemd/sd-daemon.h"})},
      {"tools/",
       {"schemas/", "decoder/", "tools/"},
       with_system({"CLI/", "nlohmann/", "pcap.h", "pcap/", "mosquitto.h", "mqtt_protocol.h",
                    "boost/asio/", "boost/beast/"})},
      {"tests/", {"schemas/", "decoder/", "daemon/", "tools/", "tests/"}, {""}},
  };
  return rules;
}

std::optional<std::string> violation(std::string_view file, std::string_view line) {
  const auto include = included(line);
  if (!include) return std::nullopt;
  const auto [mark, header] = *include;
  const IncludeRule* rule = rule_for(file);
  if (rule == nullptr) return "no rule for this folder";
  const std::string name(header);
  if (mark == '"') {
    if (begins_with_any(header, rule->ours)) return std::nullopt;
    return std::string(rule->folder) + " may not include \"" + name + "\"";
  }
  if (!is_standard(header)) {
    if (begins_with_any(header, rule->libraries)) return std::nullopt;
    return std::string(rule->folder) + " may not include <" + name + ">";
  }
  if (!rule->may_do_io && std::find(outside.begin(), outside.end(), header) != outside.end()) {
    return std::string(rule->folder) + " is pure: <" + name + "> reaches outside";
  }
  return std::nullopt;
}

}  // namespace foundling::house
