#include "daemon/instruments/instrument_config.h"

#include <algorithm>
#include <optional>
#include <utility>

#include "daemon/instruments/instrument_line.h"
#include "daemon/instruments/scpi.h"
#include "schemas/values/channel_name.h"
#include "schemas/values/nearest_word.h"
#include "schemas/values/number_words.h"
#include "schemas/values/text_scan.h"
#include "schemas/values/unit.h"

namespace foundling {
namespace {

constexpr std::size_t most_instruments = 32;
constexpr std::size_t most_queries = 32;

// "5 V", "0.01", in `unit`.
std::optional<double> quantity_in(const std::string& text, const std::string& unit) {
  TextScan scan(text);
  const auto value = scan.number();
  if (!value || !(*value > 0)) return std::nullopt;
  if (scan.at_end()) return value;
  const auto conversion = unit_conversion(scan.rest(), unit);
  if (!conversion) return std::nullopt;
  return conversion->uncertainty(*value);
}

// One table's keys, each asked for by name; what nobody asked for is unknown.
class Table {
 public:
  Table(const toml::table& table, std::string within, const ConfigFault& fault)
      : table_(table), within_(std::move(within)), fault_(fault) {}

  const toml::node* find(const char* key) {
    known_.emplace_back(key);
    return table_.get(key);
  }
  std::optional<std::string> text(const char* key) {
    const toml::node* const node = find(key);
    if (node == nullptr) return std::nullopt;
    auto value = node->value<std::string>();
    if (!node->is_string()) value.reset();
    if (!value) complain(*node, key, "expected a text in quotes");
    return value;
  }
  // A number, or a text like "20 V" in `unit`; both above 0.
  std::optional<double> quantity(const char* key, const std::string& unit) {
    const toml::node* const node = find(key);
    if (node == nullptr) return std::nullopt;
    std::optional<double> value;
    if (node->is_number()) value = node->value<double>();
    if (node->is_string()) value = quantity_in(*node->value<std::string>(), unit);
    if (value && *value > 0) return value;
    complain(*node, key, "expected a number above 0, or one with its unit like \"20 " + unit + '"');
    return std::nullopt;
  }
  void number(const char* key, double least, double most, double& into) {
    const toml::node* const node = find(key);
    if (node == nullptr) return;
    const auto value = node->is_number() ? node->value<double>() : std::nullopt;
    if (value && *value >= least && *value <= most) {
      into = *value;
    } else {
      complain(*node, key, "expected " + number_words(least) + " to " + number_words(most));
    }
  }
  void complain(const toml::node& node, const char* key, const std::string& words) {
    complain_at(node.source(), key, words);
  }
  void complain_at(const toml::source_region& place, const char* key, const std::string& words) {
    fault_(place, within_ + '.' + key + ": " + words);
    good_ = false;
  }
  void complain_whole(const std::string& words) {
    fault_(table_.source(), within_ + ": " + words);
    good_ = false;
  }
  // Whether everything was understood.
  bool finish() {
    for (const auto& [key, node] : table_) {
      const std::string name(key.str());
      if (std::find(known_.begin(), known_.end(), name) != known_.end()) continue;
      const auto near = nearest_word(name, known_);
      fault_(key.source(), "unknown setting \"" + within_ + '.' + name + '"' +
                               (near ? "; did you mean \"" + *near + "\"?" : ""));
      good_ = false;
    }
    return good_;
  }

 private:
  const toml::table& table_;
  const std::string within_;
  const ConfigFault& fault_;
  std::vector<std::string> known_;
  bool good_ = true;
};

// What the answer is worth: its unit, the sensor before it, the meter's specification.
void read_worth(Table& table, InstrumentQuery& query) {
  query.uncertainty = table.quantity("uncertainty", query.unit);
  query.setting.unit = query.unit;
  query.setting.range = table.quantity("range", query.unit);
  query.setting.resolution = table.quantity("resolution", query.unit);
  if (const auto text = table.text("meter")) {
    auto meter = parse_meter_specification(*text);
    if (!meter) {
      table.complain(*table.find("meter"), "meter", meter.error().message);
    } else if (query.uncertainty) {
      table.complain(*table.find("meter"), "meter",
                     "uncertainty is given too; only one can be true");
    } else if (const auto fits = standard_uncertainty(*meter, 1, query.setting); !fits) {
      table.complain(*table.find("meter"), "meter", fits.error().message);
    } else {
      query.meter = std::move(meter).value();
    }
  } else if (query.setting.range || query.setting.resolution) {
    table.complain_whole("a range or a resolution says nothing without the meter's specification");
  }
  if (const auto text = table.text("sensor")) {
    auto sensor = parse_sensor(*text);
    if (!sensor) {
      table.complain(*table.find("sensor"), "sensor", sensor.error().message);
    } else if (!unit_conversion(query.unit, electrical_unit(*sensor))) {
      table.complain(
          *table.find("sensor"), "sensor",
          "is read in " + std::string(electrical_unit(*sensor)) + ", not in " + query.unit);
    } else {
      query.sensor = std::move(sensor).value();
    }
  }
}

std::optional<InstrumentQuery> read_query(const toml::table& content, const ConfigFault& fault) {
  Table table(content, "instrument.query", fault);
  InstrumentQuery query;
  if (const auto ask = table.text("ask")) {
    query.ask = *ask;
    const std::string wrong = fault_of_query(query.ask);
    if (!wrong.empty()) table.complain(*table.find("ask"), "ask", wrong);
  } else if (table.find("ask") == nullptr) {
    table.complain_whole("ask is missing: what to query, like \"MEASure:VOLTage:DC?\"");
  }
  if (const auto name = table.text("channel")) {
    query.channel.name = *name;
    const std::string wrong = fault_of_channel_name(*name);
    if (!wrong.empty())
      table.complain(*table.find("channel"), "channel", "a channel's name " + wrong);
  } else if (table.find("channel") == nullptr) {
    table.complain_whole("channel is missing: what the answer is a reading of");
  }
  if (const auto unit = table.text("unit")) {
    const auto known = known_unit(*unit);
    query.unit = known.value_or(*unit);
    if (!known || *known == "state") {
      table.complain(*table.find("unit"), "unit", "\"" + *unit + "\" is no unit known here");
    }
  } else if (table.find("unit") == nullptr) {
    table.complain_whole("unit is missing: that of the answer");
  }
  read_worth(table, query);
  query.channel.kind = ChannelKind::sample;
  query.channel.unit = query.sensor ? std::string(quantity_unit(*query.sensor)) : query.unit;
  double number = query.number;
  table.number("number", 1, 16, number);
  query.number = static_cast<int>(number);
  table.number("every-s", 0.05, 86'400, query.every_s);
  if (!table.finish()) return std::nullopt;
  return query;
}

void read_line(Table& table, InstrumentSettings& settings) {
  int ways = 0;
  const auto take = [&](const char* key, LineKind kind) {
    const auto address = table.text(key);
    if (!address) return;
    ++ways;
    settings.line = kind;
    settings.address = *address;
    const std::string wrong = fault_of_address(kind, *address);
    if (!wrong.empty()) table.complain(*table.find(key), key, wrong);
  };
  take("tcp", LineKind::tcp);
  take("serial", LineKind::serial);
  take("usbtmc", LineKind::usbtmc);
  if (ways != 1) {
    table.complain_whole(
        "expected one of tcp = \"HOST:PORT\", serial = \"/dev/...\", usbtmc = \"/dev/usbtmc0\"");
  }
  double baud = settings.baud;
  table.number("baud", 1, 1e6, baud);
  settings.baud = static_cast<int>(baud);
  if (const toml::node* const node = table.find("baud");
      node != nullptr && !is_baud_rate(settings.baud)) {
    table.complain(*node, "baud", "expected a usual speed like 9600 or 115200");
  }
  if (const auto end = table.text("line-end")) {
    settings.line_end = *end == "crlf" ? "\r\n" : *end == "cr" ? "\r" : "\n";
    if (*end != "lf" && *end != "crlf" && *end != "cr") {
      table.complain(*table.find("line-end"), "line-end", "expected lf, crlf or cr");
    }
  }
  table.number("timeout-s", 0.05, 60, settings.timeout_s);
}

// Calls `each` with every table of an array of tables, and its place.
template <typename Each>
bool each_table(const toml::node& node, Each each) {
  const toml::array* const list = node.as_array();
  if (list == nullptr || list->empty()) return false;
  for (const toml::node& one : *list) {
    const toml::table* const table = one.as_table();
    if (table == nullptr) return false;
    each(*table);
  }
  return true;
}

InstrumentSettings read_instrument(const toml::table& content, const ConfigFault& fault) {
  Table table(content, "instrument", fault);
  InstrumentSettings settings;
  if (const auto name = table.text("name")) {
    settings.name = *name;
    const bool odd = name->empty() || name->size() > 64 || printable(*name, 64) != *name;
    if (odd) table.complain(*table.find("name"), "name", "expected 1 to 64 plain characters");
  } else if (table.find("name") == nullptr) {
    table.complain_whole("name is missing");
  }
  read_line(table, settings);
  const toml::node* const queries = table.find("query");
  bool many = false;
  const bool tables = queries != nullptr && each_table(*queries, [&](const toml::table& one) {
                        auto query = read_query(one, fault);
                        many = many || settings.queries.size() >= most_queries;
                        if (query) settings.queries.push_back(std::move(*query));
                      });
  if (!tables) table.complain_whole("expected one [[instrument.query]] or more");
  if (many) table.complain_whole("at most 32 queries");
  table.finish();
  return settings;
}

// The same name twice, or two queries for one channel.
void check_doubles(const std::vector<InstrumentSettings>& all, const toml::node& node,
                   const ConfigFault& fault) {
  std::vector<std::string> names, channels;
  const auto take = [&](std::vector<std::string>& seen, const std::string& name,
                        const std::string& what) {
    if (!name.empty() && std::find(seen.begin(), seen.end(), name) != seen.end()) {
      fault(node.source(), what + " " + name + " is there twice");
    }
    seen.push_back(name);
  };
  for (const InstrumentSettings& one : all) {
    take(names, one.name, "instrument");
    for (const InstrumentQuery& query : one.queries) {
      take(channels, query.channel.name, "a query for channel");
    }
  }
  if (all.size() > most_instruments) fault(node.source(), "at most 32 instruments");
}

}  // namespace

std::vector<InstrumentSettings> read_instruments(const toml::node& node, const ConfigFault& fault) {
  std::vector<InstrumentSettings> all;
  const bool tables = each_table(
      node, [&](const toml::table& table) { all.push_back(read_instrument(table, fault)); });
  if (!tables) {
    fault(node.source(), "expected [[instrument]] tables");
    return {};
  }
  check_doubles(all, node, fault);
  return all;
}

}  // namespace foundling
