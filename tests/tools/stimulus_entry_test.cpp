// A reading as typed.
#include "tools/exchange/stimulus_entry.h"

#include <doctest/doctest.h>

#include <cmath>

#include "tests/must.h"

namespace foundling {
namespace {

StimulusEntry entry(const char* value, std::optional<std::string> unit = {},
                    std::optional<Channel> known = {}) {
  return must(stimulus_entry({"pack_current", value, std::move(unit), {}, {}}, known));
}

std::string fault(const char* value, std::optional<std::string> unit = {},
                  std::optional<Channel> known = {}) {
  const auto made = stimulus_entry({"pack_current", value, std::move(unit), {}, {}}, known);
  REQUIRE_FALSE(made.ok());
  return made.error().message;
}

const Channel in_ampere{"pack_current", "A", ChannelKind::hold};
const Channel of_words{"interlock", "state", ChannelKind::hold};

TEST_CASE("a value is typed with its unit, beside it, or in the channel's own") {
  CHECK(entry("12.5A").reading.value == 12.5);
  CHECK(entry("12.5A").channel.unit == "A");
  CHECK(entry("12.5 A").channel.unit == "A");
  CHECK(entry("-3", "mA").channel.unit == "mA");
  CHECK(entry("25degC").channel.unit == "°C");
  CHECK(entry("1.5e3Ω").reading.value == 1500);
  CHECK(entry("12500mA", {}, in_ampere).reading.value == 12.5);
  CHECK(entry("12.5", {}, in_ampere).reading.value == 12.5);
  CHECK(std::isnan(entry("12.5A").reading.uncertainty));
}

TEST_CASE("a word makes a state") {
  CHECK(entry("closed").channel.is_state());
  CHECK(entry("closed").reading.state == "closed");
  CHECK(entry("1", "state").reading.state == "1");
  CHECK(entry("1", {}, of_words).reading.state == "1");
}

TEST_CASE("an uncertainty is in the unit as typed") {
  const auto made = must(stimulus_entry({"pack_current", "12500", "mA", 20.0, {}}, in_ampere));
  CHECK(made.reading.uncertainty == 0.02);
}

TEST_CASE("an unknown unit is kept and said") {
  CHECK(entry("3furlong").channel.unit == "furlong");
  CHECK(entry("3furlong").remarks.size() == 1);
}

TEST_CASE("what does not fit is refused") {
  CHECK(fault("12.5") ==
        "channel pack_current is new: its unit is missing (write `state` for a word like 0 or 1)");
  CHECK(fault("12.5V", {}, in_ampere) == "channel pack_current is in A, not in V");
  CHECK(fault("open", {}, in_ampere) == "expected a number, found \"open\"");
  CHECK(fault("12.5A", "V") == "two units: \"A\" and \"V\"");
  CHECK(fault("1", "A", of_words) == "channel interlock takes words, not A");
  CHECK(fault("nan", "A") == "expected a number, found \"nan\"");
  CHECK_FALSE(stimulus_entry({"pack current", "1A", {}, {}, {}}, {}).ok());
  CHECK_FALSE(stimulus_entry({"pack_current", "1A", {}, -1.0, {}}, {}).ok());
  CHECK_FALSE(stimulus_entry({"pack_current", "1A", {}, {}, ChannelKind::sample}, in_ampere).ok());
}

}  // namespace
}  // namespace foundling
