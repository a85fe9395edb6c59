// Stimulus CSV: units and kinds, and the whole message for what is not right.
#include "tools/exchange/stimulus_csv.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "tests/scratch_folder.h"
#include "tests/tools/files.h"

namespace foundling {
namespace {

const std::string header = "time_s,channel,unit,value,uncertainty,kind\n";

StimulusFile read(const std::string& content, const std::vector<Channel>& known = {}) {
  const ScratchFolder folder;
  put(folder / "s.csv", content);
  return must(read_stimulus_csv(folder / "s.csv", known));
}

std::string fault_of(const std::string& content) {
  const ScratchFolder folder;
  put(folder / "s.csv", content);
  const auto file = read_stimulus_csv(folder / "s.csv");
  REQUIRE_FALSE(file.ok());
  return file.error().message.substr((folder / "s.csv").string().size());
}

TEST_CASE("the four columns suffice: every channel is held, its uncertainty unknown") {
  const auto file =
      read("time_s,channel,unit,value\n1,pack_current,A,12.5\n2.5,interlock,state,1\n");
  REQUIRE(file.channels.size() == 2);
  CHECK(file.channels[0].channel.kind == ChannelKind::hold);
  CHECK(file.channels[0].readings[0].value == 12.5);
  CHECK(std::isnan(file.channels[0].readings[0].uncertainty));
  CHECK(file.channels[1].channel.is_state());
  CHECK(file.channels[1].readings[0].state == "1");
  CHECK(file.channels[1].readings[0].t_ns == 2'500'000'000);
  CHECK(file.remarks.empty());
}

TEST_CASE("a channel that mixes prefixes is kept in its first unit, uncertainty too") {
  const auto file = read(header + "1,cell_01,V,3.3,0.001,\n2,cell_01,mV,3312.5,2,hold\n" +
                         "3, room , degC , 20 ,0.5,sample\n4,room,K,293.15,0.5,\n");
  CHECK(file.channels[0].channel.unit == "V");
  CHECK(file.channels[0].readings[1].value == 3.3125);
  CHECK(file.channels[0].readings[1].uncertainty == 0.002);
  CHECK(file.channels[1].channel.unit == "°C");
  CHECK(file.channels[1].channel.kind == ChannelKind::sample);
  CHECK(file.channels[1].readings[1].value == doctest::Approx(20).epsilon(1e-14));
  CHECK(file.channels[1].readings[1].uncertainty == 0.5);
}

TEST_CASE("an unknown unit is kept as text and said once") {
  const auto file = read(header + "1,a,furlong,1,,\n2,a,furlong,2,,\n");
  CHECK(file.channels[0].channel.unit == "furlong");
  REQUIRE(file.remarks.size() == 1);
  CHECK(file.remarks[0] == "unit \"furlong\" is not known; it is kept as text");
}

TEST_CASE("readings go into the unit that the capture has") {
  const auto file = read(header + "1,a,mA,1500,,\n", {{"a", "A", ChannelKind::hold}});
  CHECK(file.channels[0].channel.unit == "A");
  CHECK(file.channels[0].readings[0].value == 1.5);
}

TEST_CASE("a channel that changes its unit or kind is named with the place") {
  CHECK(fault_of(header + "1,a,A,1,,\n2,a,V,1,,\n") ==
        ":3:5: error: channel a was in A before, found \"V\"\n"
        "  2,a,V,1,,\n"
        "      ^");
  CHECK(fault_of(header + "1,a,A,1,,hold\n2,a,A,1,,sample\n") ==
        ":3:10: error: channel a was of kind hold before, found \"sample\"\n"
        "  2,a,A,1,,sample\n"
        "           ^^^^^^");
  CHECK(fault_of(header + "1,a,state,open,,\n2,a,A,1,,\n")
            .find(":3:5: error: channel a was in state before") == 0);
}

const std::string asked_header = "time_s,channel,unit,value,uncertainty,kind,earliest_s\n";

TEST_CASE("a reading says since when it may have been true, where that is known") {
  const auto file = read(
      "time_s,earliest_s,channel,unit,value\n12.5,9.25,a,A,1\n20,,a,A,2\n"
      "30,30,interlock,state,open\n");
  const auto& held = file.channels[0].readings;
  CHECK(held[0].t_ns == 12'500'000'000);
  CHECK(held[0].earliest_ns == 9'250'000'000);
  CHECK(held[1].earliest_ns == Reading::no_time);
  CHECK(file.channels[1].readings[0].earliest_ns == 30'000'000'000);
}

TEST_CASE("a reading that was true after its own time is named with the place") {
  CHECK(fault_of(asked_header + "1,a,A,1,,,0.5\n2,a,A,1,,,2.000000001\n") ==
        ":3:11: error: expected a time that is not after time_s, found \"2.000000001\"\n"
        "  2,a,A,1,,,2.000000001\n"
        "            ^^^^^^^^^^^");
  CHECK(fault_of(asked_header + "1,a,A,1,,,soon\n")
            .find(":2:11: error: expected seconds like 12.5, found \"soon\"") == 0);
}

TEST_CASE("since when a reading may have been true goes out as it came in") {
  const std::string text = asked_header +
                           "1700000000.000000001,a,A,0.1,0.02,hold,1699999997.999999999\n"
                           "1700000001.500000000,b,state,open,,hold,\n";
  const auto file = read(text);
  std::string back;
  append_stimulus_csv(back, file.channels, 0);
  CHECK(back == text);
  std::string shifted;
  auto earlier = file.channels;
  for (ChannelSeries& series : earlier) {
    for (Reading& one : series.readings) {
      one.t_ns -= 1'699'999'999'000'000'000;
      if (one.earliest_ns != Reading::no_time) one.earliest_ns -= 1'699'999'999'000'000'000;
    }
  }
  append_stimulus_csv(shifted, earlier, 1'699'999'999'000'000'000);
  CHECK(shifted == text);
}

TEST_CASE("a malformed field is named with its line and column") {
  CHECK(fault_of(header + "1,a,A,1.2.3,,\n")
            .find(":2:7: error: expected a number, found \"1.2.3\"") == 0);
  CHECK(fault_of(header + "1,a,A,nan,,\n").find(":2:7: error: expected a number") == 0);
  CHECK(fault_of(header + "1,a,A,,,\n").find(":2:7: error: expected a number, found nothing") == 0);
  CHECK(fault_of(header + "now,a,A,1,,\n").find(":2:1: error: expected seconds") == 0);
  CHECK(fault_of(header + "1,,A,1,,\n").find(":2:3: error: a channel's name is empty") == 0);
  CHECK(fault_of(header + "1,a b,A,1,,\n").find(":2:3: error: a channel's name may hold") == 0);
  CHECK(fault_of(header + "1,a,,1,,\n").find(":2:5: error: expected a unit") == 0);
  CHECK(fault_of(header + "1,a,A,1,-1,\n").find(":2:9: error: expected a standard uncertainty") ==
        0);
  CHECK(fault_of(header + "1,a,A,1,,often\n").find(":2:10: error: expected hold or sample") == 0);
  CHECK(fault_of(header + "1,a,state,wide open,,\n").find(":2:11: error: the word of a state") ==
        0);
  CHECK(fault_of("time_s,channel,value\n").find(":1:21: error: column \"unit\" is missing") == 0);
  CHECK(fault_of("time_s,channel,unit,value,who\n").find(":1:27: error: unknown column \"who\"") ==
        0);
  CHECK(fault_of("") == ": empty file, expected the header time_s,channel,unit,value");
}

}  // namespace
}  // namespace foundling
