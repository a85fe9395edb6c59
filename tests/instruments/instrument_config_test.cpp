// Instruments in the daemon's configuration file.
#include <doctest/doctest.h>

#include <cmath>

#include "daemon/config_file.h"
#include "tests/must.h"

namespace foundling {
namespace {

constexpr const char* whole = R"(capture = "tractor.capture"

[[instrument]]
name = "bench meter"
tcp = "192.0.2.20:5025"
timeout-s = 1.5

[[instrument.query]]
ask = "MEASure:VOLTage:DC?"
channel = "pack_voltage"
unit = "V"
every-s = 0.5
meter = "0.05% + 0.01% of range + 2 digits"
range = "100 V"
resolution = 0.01

[[instrument.query]]
ask = "MEASure:CURRent?;:MEASure:TEMPerature?"
number = 2
channel = "heat"
unit = "K"
uncertainty = 0.2

[[instrument]]
name = "shunt meter"
serial = "/dev/ttyUSB0"
baud = 115200
line-end = "crlf"

[[instrument.query]]
ask = "READ?"
channel = "pack_current"
unit = "mV"
sensor = "shunt 100 A / 75 mV ± 0.5 %"

[[instrument]]
name = "usb meter"
usbtmc = "/dev/usbtmc0"
query = [{ask = "READ?", channel = "temp_1", unit = "kohm", sensor = "pt1000"}]
)";

std::vector<std::string> faults(const std::string& text) {
  Options options;
  return read_config(text, "x.toml", options);
}

// One instrument with one query, and a line changed or added.
std::vector<std::string> faults_of(const std::string& instrument, const std::string& query) {
  return faults("[[instrument]]\nname = \"m\"\n" + instrument + "\n[[instrument.query]]\n" + query +
                "\n");
}

constexpr const char* tcp = "tcp = \"192.0.2.20\"";
constexpr const char* volts = "ask = \"READ?\"\nchannel = \"a\"\nunit = \"V\"";

}  // namespace

TEST_CASE("instruments are read with their queries") {
  Options options;
  const auto found = read_config(whole, "x.toml", options);
  for (const std::string& fault : found) FAIL_CHECK(fault);
  REQUIRE(options.instruments.size() == 3);
  const InstrumentSettings& meter = options.instruments[0];
  CHECK(meter.name == "bench meter");
  CHECK(meter.line == LineKind::tcp);
  CHECK(meter.address == "192.0.2.20:5025");
  CHECK(meter.timeout_s == 1.5);
  REQUIRE(meter.queries.size() == 2);
  CHECK(meter.queries[0].channel.kind == ChannelKind::sample);
  CHECK(meter.queries[0].every_s == 0.5);
  // 0.05 % of 98 V, 0.01 % of 100 V and 20 mV: 79 mV, rectangular (GUM 4.3.7).
  CHECK(must(meter.queries[0].measured(98)).uncertainty == doctest::Approx(0.079 / std::sqrt(3.0)));
  CHECK(meter.queries[1].number == 2);
  CHECK(must(meter.queries[1].measured(300)).uncertainty == 0.2);
  const InstrumentSettings& shunt = options.instruments[1];
  CHECK(shunt.line == LineKind::serial);
  CHECK(shunt.baud == 115200);
  CHECK(shunt.line_end == "\r\n");
  CHECK(shunt.queries[0].channel.unit == "A");
  CHECK(must(shunt.queries[0].measured(7.5)).value == doctest::Approx(10));
  CHECK(options.instruments[2].line == LineKind::usbtmc);
  CHECK(must(options.instruments[2].queries[0].measured(1)).value == doctest::Approx(0));
}

TEST_CASE("each fault is told with its line and column") {
  CHECK(faults_of(tcp, volts).empty());
  CHECK(
      faults_of(tcp, "ask = \"OUTP ON\"\nchannel = \"a\"\nunit = \"V\"") ==
      std::vector<std::string>{"x.toml:5:7: error: instrument.query.ask: \"OUTP ON\" does not end "
                               "in '?': instruments are only ever asked"});
  CHECK(faults_of(tcp, "ask = \"READ?\"\nchanel = \"a\"\nunit = \"V\"") ==
        std::vector<std::string>{
            "x.toml:4:1: error: instrument.query: channel is missing: what the answer is a reading "
            "of",
            "x.toml:6:1: error: unknown setting \"instrument.query.chanel\"; did you mean "
            "\"channel\"?"});
  CHECK(faults_of("tcp = \"192.0.2.20:99999\"", volts) ==
        std::vector<std::string>{"x.toml:3:7: error: instrument.tcp: expected HOST or HOST:PORT, "
                                 "like 192.0.2.20:5025"});
  CHECK(
      faults_of(tcp, std::string(volts) + "\nmeter = \"2 digits\"") ==
      std::vector<std::string>{"x.toml:8:9: error: instrument.query.meter: the meter's "
                               "specification needs the resolution: what the last digit is worth"});
  CHECK(
      faults_of(tcp, std::string(volts) + "\nmeter = \"two digits\"") ==
      std::vector<std::string>{
          "x.toml:8:9: error: instrument.query.meter: meter specification: expected a number like "
          "0.05, found \"two digits\" at column 1"});
  CHECK(faults_of(tcp, std::string(volts) + "\nsensor = \"pt100\"") ==
        std::vector<std::string>{
            "x.toml:8:10: error: instrument.query.sensor: is read in Ω, not in V"});
  CHECK(faults_of(tcp, std::string(volts) + "\nevery-s = 0") ==
        std::vector<std::string>{
            "x.toml:8:11: error: instrument.query.every-s: expected 0.05 to 86400"});
}

TEST_CASE("what cannot be is refused") {
  for (const char* line : {"", "serial = \"/dev/ttyS0\"\nusbtmc = \"/dev/usbtmc0\"",
                           "serial = \"ttyS0\"", "serial = \"/dev/ttyS0\"\nbaud = 1234", "tcp = 5",
                           "tcp = \"a b\"", "tcp = \"[::1\"", "tcp = \"h\"\nline-end = \"lfcr\"",
                           "tcp = \"h\"\ntimeout-s = 0", "tcp = \"h\"\nloud = true"}) {
    CAPTURE(line);
    CHECK_FALSE(faults_of(line, volts).empty());
  }
  for (const char* more :
       {"number = 0", "number = 17", "uncertainty = 0", "uncertainty = \"5 A\"", "range = 5",
        "meter = \"1% of range\"", "uncertainty = 1\nmeter = \"1%\"", "sensor = \"diode\"",
        "every-s = \"often\"", "meter = 3"}) {
    CAPTURE(more);
    CHECK_FALSE(faults_of(tcp, std::string(volts) + "\n" + more).empty());
  }
  CHECK_FALSE(faults_of(tcp, "ask = \"READ?\"\nchannel = \"a b\"\nunit = \"V\"").empty());
  CHECK_FALSE(faults_of(tcp, "ask = \"READ?\"\nchannel = \"a\"\nunit = \"state\"").empty());
  CHECK_FALSE(faults_of(tcp, "ask = \"READ?\"\nchannel = \"a\"\nunit = \"furlong\"").empty());
  for (const char* text :
       {"instrument = 3", "instrument = []", "instrument = [3]", "[instrument]\nname = \"m\"",
        "[[instrument]]", "[[instrument]]\nname = \"m\"\ntcp = \"h\"",
        "[[instrument]]\nname = \"m\"\ntcp = \"h\"\nquery = []",
        "[[instrument]]\nname = \"m\"\ntcp = \"h\"\nquery = 3",
        "[[instrument]]\nname = \"\\u001b\"\ntcp = \"h\"\nquery = "
        "[{ask=\"R?\",channel=\"a\",unit=\"V\"}]"}) {
    CAPTURE(text);
    CHECK_FALSE(faults(text).empty());
  }
}

TEST_CASE("two instruments of one name, or two queries for one channel, are refused") {
  const std::string one = "[[instrument]]\nname = \"m\"\ntcp = \"h\"\n[[instrument.query]]\n";
  const auto found = faults(one + volts + "\n" + one + volts + "\n");
  REQUIRE(found.size() == 2);
  CHECK(found[0].find("instrument m is there twice") != std::string::npos);
  CHECK(found[1].find("a query for channel a is there twice") != std::string::npos);
}

}  // namespace foundling
