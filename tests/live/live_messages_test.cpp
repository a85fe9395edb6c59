// What is published, held against the JSON library and the OpenMetrics parser of the Prometheus
// project's Python client; names as bad as a map may have them.
#include "tools/live/live_messages.h"

#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "schemas/signals/read.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

constexpr std::int64_t second = 1'000'000'000;

constexpr const char* hostile =
    "foundling signals 1\n"
    "message 100 every 100 ms length 8\n"
    "  signal \"a/b +#\\\"\\\\ <script>\"\n    bits 0.7..0.0\n    value = raw * 0.1 \"odd "
    "\\\"unit\\\"\"\n"
    "  signal door\n    bits 1.7..1.0\n    state 0 = \"half \\\"open\\\"\"\n    state 1 = shut\n"
    "    state 2 = shut\n"
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

}  // namespace

TEST_CASE("a topic has one level for a signal, whatever it is called") {
  CHECK(signal_topic("p/q", "a/b +#\"\\ <script>") == "p/q/signal/a_b __\"\\ <script>");
}

TEST_CASE("a value's JSON has a number, a word or a raw code, and null where it does not count") {
  Filled filled;
  CHECK(filled.json(0, 0) ==
        nlohmann::json{{"value", nullptr}, {"unit", "odd \"unit\""}, {"state", "never"}});
  filled.frame(123, 0, 65);
  CHECK(filled.json(0, 10 * second)["value"] == 12.3);
  CHECK(filled.json(1, 10 * second) ==
        nlohmann::json{{"value", "half \"open\""}, {"state", "good"}});
  CHECK(filled.json(2, 10 * second)["value"] == 25);
  CHECK(filled.json(2, 12 * second)["state"] == "stale");
  CHECK(filled.json(2, 12 * second)["value"].is_null());
  filled.frame(123, 9, 255);
  CHECK(filled.json(1, 10 * second)["value"] == 9);
  CHECK(filled.json(2, 10 * second) ==
        nlohmann::json{
            {"value", nullptr}, {"unit", "°C"}, {"state", "reserved"}, {"reserved", "error"}});
}

TEST_CASE("hostile names, units and words are labels to the OpenMetrics parser, as they are") {
  Filled filled;
  filled.frame(123, 1, 65);
  const ScratchFolder folder;
  std::ofstream(folder / "page") << metrics_text(filled.values, {true, true, true}, 10 * second);
  std::ofstream(folder / "parse.py")
      << "import sys, json\n"
         "from prometheus_client.openmetrics.parser import text_string_to_metric_families as p\n"
         "text = open(sys.argv[1], encoding='utf-8').read()\n"
         "print(json.dumps([[s.name, s.labels, s.value] for f in p(text) for s in f.samples]))\n";
  const std::string command = "/usr/bin/python3 '" + (folder / "parse.py").string() + "' '" +
                              (folder / "page").string() + "' > '" + (folder / "out").string() +
                              "'";
  REQUIRE(std::system(command.c_str()) == 0);
  std::ifstream out(folder / "out");
  const auto samples = nlohmann::json::parse(out);
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
  CHECK(value_of("foundling_signal_state",
                 {{"signal", "door"}, {"foundling_signal_state", "half \"open\""}}) == 0);
  CHECK(value_of("foundling_signal_state",
                 {{"signal", "door"}, {"foundling_signal_state", "shut"}}) == 1);
}

}  // namespace foundling
