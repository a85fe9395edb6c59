// Other programs' tables of readings: a meter's or a supply's log.
#include "tools/exchange/layout/readings_layout.h"

#include <doctest/doctest.h>

#include <string>

#include "tests/scratch_folder.h"
#include "tests/tools/files.h"

namespace foundling {
namespace {

const std::string log_of_a_meter =
    "Pack voltage [V];Time (s);Shunt (mV);Remark\n"
    "92,5;0,25;12,5;\n"
    "92,75;1,25;;touched\n";

Result<StimulusFile> read_by(const std::string& content, const std::string& words) {
  const ScratchFolder folder;
  put(folder / "m.csv", content);
  auto read = read_readings_by_layout(folder / "m.csv", must(parse_readings_layout(words)));
  if (read) return read;
  Error error = read.error();
  error.message.erase(0, (folder / "m.csv").string().size());
  return error;
}

std::string fault_of(const std::string& content, const std::string& words) {
  const auto read = read_by(content, words);
  return read ? "read" : read.error().message;
}

std::string fault_of_words(const std::string& words) {
  const auto layout = parse_readings_layout(words);
  return layout ? "taken" : layout.error().message;
}

}  // namespace

TEST_CASE("a meter's log is guessed by its headings, and read so") {
  const ScratchFolder folder;
  put(folder / "m.csv", log_of_a_meter);
  const auto guess = must(guess_readings_layout(folder / "m.csv"));
  CHECK(readings_layout_words(guess.layout) ==
        "separator semicolon, decimal comma, skip 1, time 2 s, reading 1 pack_voltage V, "
        "reading 3 shunt mV");
  CHECK(guess.unsure.empty());
  const std::string shown = must(shown_guess(folder / "m.csv", guess));
  CHECK(shown.find("  column 1         \"Pack voltage [V]\": readings of pack_voltage in V\n") !=
        std::string::npos);
  CHECK(shown.find("  column 4         \"Remark\": not used\n") != std::string::npos);
  CHECK(shown.find("It has 3 readings") != std::string::npos);
  const auto file = must(read_readings_by_layout(folder / "m.csv", guess.layout));
  REQUIRE(file.channels.size() == 2);
  CHECK(file.channels[0].channel.kind == ChannelKind::sample);
  REQUIRE(file.channels[0].readings.size() == 2);
  CHECK(file.channels[0].readings[1].t_ns == 1'250'000'000);
  CHECK(file.channels[0].readings[1].value == 92.75);
  CHECK(file.channels[1].readings.size() == 1);
}

TEST_CASE("columns of words and of held values are read as they are said to be") {
  const auto file = must(read_by("5,12.5,open\n10,13,closed\n",
                                 "skip 0, time 1 ms, reading 2 supply degC hold, "
                                 "reading 3 interlock state"));
  CHECK(file.channels[0].channel.kind == ChannelKind::hold);
  CHECK(file.channels[0].channel.unit == "°C");
  CHECK(file.channels[0].readings[1].t_ns == 10'000'000);
  CHECK(file.channels[1].readings[1].state == "closed");
  CHECK(file.remarks.empty());
  const std::string words =
      "separator comma, decimal point, skip 0, time 1 ms, reading 2 supply °C hold, "
      "reading 3 interlock state";
  CHECK(readings_layout_words(must(parse_readings_layout(words))) == words);
}

TEST_CASE("what is no reading is named with its place, a unit that is not known is said") {
  CHECK(fault_of("1,12.5\n2,12.5 V\n", "skip 0, time 1, reading 2 supply V") ==
        ":2:3: error: expected a number, found \"12.5 V\"\n"
        "  2,12.5 V\n"
        "    ^^^^^^");
  CHECK(fault_of("x,12.5\n", "skip 0, time 1 us, reading 2 supply V")
            .find(":1:1: error: expected a number of us") == 0);
  CHECK(fault_of("1\n", "skip 0, time 3, reading 2 supply V").find("expected a column 3") !=
        std::string::npos);
  const auto file = must(read_by("1,12.5\n", "skip 0, time 1, reading 2 wind knots"));
  CHECK(file.remarks.at(0) == "unit \"knots\" is not known; it is kept as text");
}

TEST_CASE("words of such a layout that are wrong are named") {
  CHECK(fault_of_words("time 1").find("reading COLUMN CHANNEL UNIT") != std::string::npos);
  CHECK(fault_of_words("reading 2 supply V").find("where the time is") != std::string::npos);
  CHECK(fault_of_words("time 1, reading 2 supply").find("reading COLUMN CHANNEL UNIT") !=
        std::string::npos);
  CHECK(fault_of_words("time 1, reading 2 a V, reading 2 b V").find("not used yet") !=
        std::string::npos);
  CHECK(fault_of_words("time 1, reading 2 a V, reading 3 a V").find("not named yet") !=
        std::string::npos);
  CHECK(fault_of_words("time 1, reading 2 a V held").find("hold or sample") != std::string::npos);
  CHECK(fault_of_words("time 1, value 2 a V").find("time or reading") != std::string::npos);
  CHECK(fault_of_words("time 1, reading 2 a/b V").find("a channel's name") != std::string::npos);
}

TEST_CASE("a log without units in its headings is refused with what to say") {
  const ScratchFolder folder;
  put(folder / "m.csv", "time,voltage\n0.5,12.5\n1.5,12.75\n");
  const auto guess = guess_readings_layout(folder / "m.csv");
  REQUIRE_FALSE(guess.ok());
  CHECK(guess.error().message.find("say it with --stimulus-layout") != std::string::npos);
}

}  // namespace foundling
