// What is published, held against the JSON library and the OpenMetrics parser of the Prometheus
// project's Python client; names as bad as a map may have them.
#include "tools/live/live_messages.h"

#include <doctest/doctest.h>
#include <mosquitto.h>

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <set>

#include "schemas/signals/read.h"
#include "schemas/values/shown_text.h"
#include "tests/scratch_folder.h"
#include "tools/live/topic_level.h"

namespace foundling {
namespace {

constexpr std::int64_t second = 1'000'000'000;

constexpr const char* hostile =
    "foundling signals 1\n"
    "message 100 every 100 ms length 8\n"
    "  signal \"a/b +#\\\"\\\\ <script>\"\n    bits 0.7..0.0\n    value = raw * 0.1 \"odd "
    "\\\"unit\\\"\"\n"
    "  signal door\n    bits 1.7..1.0\n    state 0 = \"half \\\"open\\\"\"\n    state 1 = shut\n"
    "    state 2 = shut\n    status confirmed\n"
    "  signal temp\n    bits 2.7..2.0\n    value = raw - 40 °C\n    reserved 0xFF error\n";

struct Filled {
  SignalMap map;
  LiveValues values;

  Filled() : map(read_signals(hostile).map), values(map) { REQUIRE(values.size() == 3); }
  void frame(std::uint8_t a, std::uint8_t door, std::uint8_t temp) {
    Frame frame;
    frame.t_ns = 10 * second;
    frame.id = CanId::standard(0x100);
    frame.length = 8;
    frame.payload[0] = a;
    frame.payload[1] = door;
    frame.payload[2] = temp;
    values.take(frame);
  }
  [[nodiscard]] nlohmann::json json(std::size_t i, std::int64_t now_ns) const {
    return nlohmann::json::parse(signal_json(values, i, values.standing(i, now_ns), 0));
  }
};

// [name, labels, value, the family's unit] of each sample of a page.
nlohmann::json parsed(const std::string& page) {
  const ScratchFolder folder;
  std::ofstream(folder / "page") << page;
  std::ofstream(folder / "parse.py")
      << "import sys, json\n"
         "from prometheus_client.openmetrics.parser import text_string_to_metric_families as p\n"
         "text = open(sys.argv[1], encoding='utf-8').read()\n"
         "print(json.dumps([[s.name, s.labels, s.value, f.unit] for f in p(text)"
         " for s in f.samples]))\n";
  const std::string command = "/usr/bin/python3 '" + (folder / "parse.py").string() + "' '" +
                              (folder / "page").string() + "' > '" + (folder / "out").string() +
                              "'";
  REQUIRE(std::system(command.c_str()) == 0);
  std::ifstream out(folder / "out");
  return nlohmann::json::parse(out);
}

}  // namespace

TEST_CASE("a topic has one level for a signal, whatever it is called") {
  CHECK(signal_topic("p/q", "a/b +#\"\\ <script>") == "p/q/signal/a%2Fb %2B%23\"\\ <script>");
}

TEST_CASE("names that differ have topics that differ, and a topic gives its name back") {
  const std::vector<std::string> names = {"a/b",     "a+b",      "a#b",       "a_b",      "a%2Fb",
                                          "a%b",     "a\xFFz",   "a\u009B1m", "a\u202Ez", "a\nb",
                                          "Zündung", "a\uFFFEz", "a\uFDD0z",  "%",        ""};
  std::set<std::string> levels;
  for (const std::string& name : names) {
    const std::string level = topic_level(name);
    CAPTURE(level);
    CHECK(level.find_first_of("/+#") == std::string::npos);
    CHECK(mosquitto_pub_topic_check(("p/signal/" + level).c_str()) == MOSQ_ERR_SUCCESS);
    CHECK(mosquitto_validate_utf8(level.c_str(), static_cast<int>(level.size())) ==
          MOSQ_ERR_SUCCESS);
    CHECK(text_of_topic_level(level) == name);
    levels.insert(level);
  }
  CHECK(levels.size() == names.size());
  CHECK(topic_level("Zündung") == "Zündung");
  CHECK_FALSE(text_of_topic_level("a%2").has_value());
  CHECK_FALSE(text_of_topic_level("a%zz").has_value());
}

TEST_CASE("what is published shows itself, and its JSON reads back as it was") {
  const SignalMap map = read_signals(
                            "foundling signals 1\n"
                            "message 100 every 100 ms length 8\n"
                            "  signal \"v\u009B31m\u202E\"\n    bits 0.7..0.0\n"
                            "    value = raw * 1 \"V\u202E\"\n")
                            .map;
  const LiveValues values(map);
  REQUIRE(values.size() == 1);
  const std::string json = signal_json(values, 0, Standing::never, 0);
  CHECK(shown(json) == json);
  CHECK(nlohmann::json::parse(json)["unit"] == "V\u202E");
  const std::string page = metrics_text(values, {true}, 0);
  CHECK(shown_lines(page) == page);
}

TEST_CASE("a value's JSON has a number, a word or a raw code, and null where it does not count") {
  Filled filled;
  CHECK(filled.json(0, 0) == nlohmann::json{{"value", nullptr},
                                            {"unit", "odd \"unit\""},
                                            {"state", "never"},
                                            {"status", "proposed"}});
  filled.frame(123, 0, 65);
  CHECK(filled.json(0, 10 * second)["value"] == 12.3);
  CHECK(filled.json(1, 10 * second) ==
        nlohmann::json{{"value", "half \"open\""}, {"state", "good"}, {"status", "confirmed"}});
  CHECK(filled.json(2, 10 * second)["value"] == 25);
  CHECK(filled.json(2, 12 * second)["state"] == "stale");
  CHECK(filled.json(2, 12 * second)["value"].is_null());
  filled.frame(123, 9, 255);
  CHECK(filled.json(1, 10 * second)["value"] == 9);
  CHECK(filled.json(2, 10 * second) == nlohmann::json{{"value", nullptr},
                                                      {"unit", "°C"},
                                                      {"ucum", "Cel"},
                                                      {"state", "reserved"},
                                                      {"status", "proposed"},
                                                      {"reserved", "error"}});
}

TEST_CASE("hostile names, units and words are labels to the OpenMetrics parser, as they are") {
  Filled filled;
  filled.frame(123, 1, 65);
  const auto samples = parsed(metrics_text(filled.values, {true, true, true}, 10 * second));
  const auto value_of = [&](const std::string& name, const nlohmann::json& labels) {
    for (const auto& sample : samples) {
      if (sample[0] == name && sample[1] == labels) return sample[2].get<double>();
    }
    return -1.0;
  };
  const std::string odd = "a/b +#\"\\ <script>";
  CHECK(value_of("foundling_signal", {{"signal", odd}, {"unit", "odd \"unit\""}}) ==
        doctest::Approx(12.3));
  CHECK(value_of("foundling_signal_stale", {{"signal", odd}}) == 0);
  CHECK(value_of("foundling_signal_status",
                 {{"signal", odd}, {"foundling_signal_status", "proposed"}}) == 1);
  CHECK(value_of("foundling_signal_status",
                 {{"signal", odd}, {"foundling_signal_status", "confirmed"}}) == 0);
  CHECK(value_of("foundling_signal_status",
                 {{"signal", "door"}, {"foundling_signal_status", "confirmed"}}) == 1);
  CHECK(value_of("foundling_signal_state",
                 {{"signal", "door"}, {"foundling_signal_state", "half \"open\""}}) == 0);
  CHECK(value_of("foundling_signal_state",
                 {{"signal", "door"}, {"foundling_signal_state", "shut"}}) == 1);
}

TEST_CASE("numbers stand in one family for each quantity, in its base unit, whatever the map's") {
  // raw 50: 50 mV is 0.05 V, 50 % a ratio of 0.5, 300 Wh 1,080,000 J (3,600 J in a Wh, SI brochure,
  // table 8), 300 K 26.85 degrees Celsius, 30 l/min 0.0005 cubic metres in a second.
  std::string text = "foundling signals 1\nmessage 100 every 100 ms length 8\n";
  int byte = 0;
  for (const char* const line :
       {"millivolts|raw * 1 mV", "volts|raw * 1 V", "soc|raw * 1 %", "energy|raw * 6 Wh",
        "kelvins|raw * 6 K", "flow|raw * 0.6 l/min", "bare|raw * 1"}) {
    const std::string both(line);
    const std::size_t bar = both.find('|');
    const std::string at = std::to_string(byte++);
    text += "  signal " + both.substr(0, bar) + "\n    bits " + at + ".7.." + at +
            ".0\n    value = " + both.substr(bar + 1) + "\n";
  }
  const SignalMap map = read_signals(text).map;
  LiveValues values(map);
  REQUIRE(values.size() == 7);
  Frame frame;
  frame.t_ns = 10 * second;
  frame.id = CanId::standard(0x100);
  frame.length = 8;
  frame.payload.fill(50);
  values.take(frame);
  const auto samples = parsed(metrics_text(values, std::vector<bool>(7, true), 10 * second));
  const auto is = [&](const std::string& family, const std::string& signal, double value,
                      const std::string& unit) {
    CAPTURE(signal);
    int found = 0;
    for (const auto& sample : samples) {
      if (sample[0] != family || sample[1]["signal"] != signal) continue;
      ++found;
      CHECK(sample[1] == nlohmann::json{{"signal", signal}, {"status", "proposed"}});
      CHECK(sample[2].get<double>() == doctest::Approx(value));
      CHECK(sample[3] == unit);
    }
    CHECK(found == 1);
  };
  is("foundling_voltage_volts", "millivolts", 0.05, "volts");
  is("foundling_voltage_volts", "volts", 50, "volts");
  is("foundling_fraction_ratio", "soc", 0.5, "ratio");
  is("foundling_energy_joules", "energy", 1'080'000, "joules");
  is("foundling_temperature_celsius", "kelvins", 26.85, "celsius");
  is("foundling_flow_cubic_meters_per_second", "flow", 0.0005, "cubic_meters_per_second");
  const std::string page = metrics_text(values, std::vector<bool>(7, true), 10 * second);
  CHECK(page.find("foundling_signal{signal=\"bare\",unit=\"\"} 50\n") != std::string::npos);
  CHECK(page.find("# UNIT foundling_voltage_volts volts\n") != std::string::npos);
  CHECK(page.find("foundling_current_amperes") == std::string::npos);  // no such signal
  // Stale: no sample in any family of numbers.
  const std::string later = metrics_text(values, std::vector<bool>(7, true), 20 * second);
  CHECK(later.find("foundling_voltage_volts") == std::string::npos);
}

}  // namespace foundling
