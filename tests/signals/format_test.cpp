// The formatter's contract on texts written by hand. Random maps are in property_test.cpp.
#include "schemas/signals/format.h"

#include <doctest/doctest.h>

#include <fstream>
#include <iterator>
#include <sstream>
#include <string>
#include <vector>

#include "schemas/signals/read.h"

using foundling::describe;
using foundling::format;
using foundling::read_signals;
using foundling::SignalText;

namespace {

std::string formatted(const std::string& text) {
  const SignalText read = read_signals(text);
  REQUIRE_MESSAGE(read.ok(), describe(read.diagnostics, "test", text));
  return format(read.document);
}

const std::string tidy = R"(foundling signals 1  # invented

board "orchard tractor, 28 cells in series"
bit-rate 500000
note invented data: # is text here

# the current and the relays
message 1A4 every 20 ms length 8
  signal pack_current
    bits 0.7..1.0 signed  # checked twice
    value = raw * 0.1 A
    status confirmed
    delay 0.12 s
    seen tractor-1.capture session 1: scale 0.10002 ± 0.00006, 14 levels
    # comment inside the signal
  # comment before the next
  signal relay
    bits 2.1..2.0
    state 0 = open
    state 1 = closed
    reserved 3 error
  counter bits 6.3..6.0 modulo 16
  checksum bits 7.7..7.0 crc8 polynomial 1D initial 0xFF

message 1B0 every 50 ms length 8
  selector page bits 0.7..0.0 values 0..9
  series cell 1..28
    on page (n - 1) div 3
    bits 1.7..2.0 + (n - 1) mod 3 * 2 bytes
    value = raw * 0.0001 V

message 18FEF700 extended bus 1 every 1000 ms length 8
  signal board_voltage
    bits 5.7..4.0
    value = raw * 0.05 - 40 V
    reserved 0xFB00..0xFFFF not-available
# the last word
)";

}  // namespace

TEST_CASE("a tidy map is left as it is") { CHECK(formatted(tidy) == tidy); }

TEST_CASE("indentation, spaces, number forms and clause order become canonical") {
  const std::string untidy =
      "\xEF\xBB\xBF"
      "foundling   signals 1\r\n\r\n\r\n"
      "message 1a4 length 8 every 0.02 s\n"
      "signal a\n"
      "\t\tbits 0.7..1.0   signed#why\n"
      "      value=raw*1e-1 -40 A\n"
      "delay 120 ms\n\n\n";
  CHECK(formatted(untidy) ==
        "foundling signals 1\n\n"
        "message 1A4 every 20 ms length 8\n"
        "  signal a\n"
        "    bits 0.7..1.0 signed  #why\n"
        "    value = raw * 0.1 - 40 A\n"
        "    delay 0.12 s\n");
}

TEST_CASE("an empty map is its first line") {
  CHECK(formatted("foundling signals 1") == "foundling signals 1\n");
}

TEST_CASE("names and words that need quotes keep them") {
  const std::string text =
      "foundling signals 1\n\n"
      "message 001\n"
      "  signal \"two words \\\"quoted\\\" \\\\ #\"\n"
      "    bits 0.7..0.0\n"
      "    value = raw \"per cent of 5\"\n"
      "    state 0x0A = \"half open\"\n";
  CHECK(formatted(text) == text);
}

TEST_CASE("what the grammar's page writes for a line of a data sheet is a map without faults") {
  std::ifstream page(FOUNDLING_SOURCE_DIR "/schemas/signals/README.md");
  std::string line;
  while (std::getline(page, line) && line != "## From a data sheet") {
  }
  int rows = 0;
  while (std::getline(page, line) && !line.starts_with("## ")) {
    if (!line.starts_with("| ")) continue;
    for (auto at = line.find('`'); at != line.npos; at = line.find('`', at + 1), ++rows) {
      const auto end = line.find('`', at + 1);
      const std::string fact = line.substr(at + 1, end - at - 1);
      at = end;
      const bool of_message = fact.starts_with("counter") || fact.starts_with("checksum");
      const std::string bits = fact.starts_with("bits") ? "" : "    bits 1.7..0.0\n";
      const std::string text = "foundling signals 1\nmessage 1A4 length 8\n" +
                               (of_message ? "  " + fact : "  signal a\n" + bits + "    " + fact) +
                               '\n';
      const SignalText read = read_signals(text);
      CHECK_MESSAGE(read.diagnostics.empty(), describe(read.diagnostics, "README.md", text));
    }
  }
  CHECK(rows >= 14);
}

TEST_CASE("every unit that the grammar's page lists is read without a word") {
  std::ifstream page(FOUNDLING_SOURCE_DIR "/schemas/signals/README.md");
  std::string line;
  while (std::getline(page, line) && !line.starts_with("- **UNIT**: ")) {
  }
  std::istringstream words(line.substr(line.find(": ") + 2, line.find(", ") - line.find(": ") - 2));
  std::vector<std::string> units{"uV", "\u03BCV", "degC", "mohm", "Mohm", "percent"};
  units.insert(units.end(), std::istream_iterator<std::string>(words), {});
  CHECK(units.size() >= 30);
  for (const std::string& unit : units) {
    const std::string text =
        "foundling signals 1\nmessage 1A4 length 8\n  signal a\n    bits 1.7..0.0\n"
        "    value = raw * 0.1 " +
        unit + '\n';
    const SignalText read = read_signals(text);
    CHECK_MESSAGE(read.diagnostics.empty(), describe(read.diagnostics, "README.md", text));
  }
}

TEST_CASE("the worked example of the grammar's page is a map without faults") {
  std::ifstream page(FOUNDLING_SOURCE_DIR "/schemas/signals/README.md");
  std::string text;
  bool inside = false;
  for (std::string line; std::getline(page, line);) {
    if (line.starts_with("## ")) inside = line.starts_with("## A worked example");
    if (!inside || !line.starts_with("| `")) continue;
    text += line.substr(3, line.find('`', 3) - 3);
    text += '\n';
  }
  const SignalText read = read_signals(text);
  CHECK_MESSAGE(read.ok(), describe(read.diagnostics, "README.md", text));
  CHECK(read.diagnostics.empty());
  CHECK(read.map.messages.size() == 4);
}
