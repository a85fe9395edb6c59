// Slips of the keyboard in what is typed on the bench: told apart from what is really new, asked
// back on a terminal, refused elsewhere.
#include "tools/stimulus_doubts.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "schemas/capture/capture_writer.h"
#include "schemas/capture/session_clock.h"
#include "tests/tools/bench_files.h"
#include "tests/tools/terminal_session.h"

namespace foundling {
namespace {

using Words = std::vector<std::string>;

std::string meant(const std::string& name, const Words& known) {
  const auto doubt = doubt_of_channel(name, known);
  return doubt ? doubt->meant.value_or("?") : "";
}

TEST_CASE("a channel nearly called as one that is there is doubted") {
  const Words known{"cell_01", "pack_current", "pack_voltage", "room", "temp_1"};
  CHECK(meant("pack_curent", known) == "pack_current");
  CHECK(meant("pack_currnet", known) == "pack_current");
  CHECK(meant("pac_voltage", known) == "pack_voltage");
  CHECK(meant("Pack_Voltage", known) == "pack_voltage");
  CHECK(meant("packcurrent", known) == "pack_current");
  CHECK(meant("pack.current", known) == "pack_current");
  CHECK(meant("cell_1", known) == "cell_01");
  CHECK(meant("tmep_1", known) == "temp_1");
  CHECK(meant("rooom", known) == "room");
}

TEST_CASE("a channel that is only called alike is new without a doubt") {
  const Words known{"cell_01", "cell_min", "pack_current", "pack_voltage", "phase_a", "temp_1"};
  for (const char* const name : {"cell_02", "cell_11", "cell_10", "cell_max", "phase_b", "temp_2",
                                 "pack_power", "pack_current_2", "inlet_temp", "cell_01", "bus"}) {
    CAPTURE(name);
    CHECK(meant(name, known).empty());
  }
  CHECK(meant("pack_current", {}).empty());
}

TEST_CASE("a new word of a state is doubted where it is nearly an old one, or a value") {
  const auto doubted = [](const char* word, const Words& known) {
    return doubt_of_word("interlock", word, known);
  };
  const Words two{"closed", "open"};
  CHECK(doubted("opened", two)->meant == "open");
  CHECK(doubted("Open", two)->meant == "open");
  CHECK(doubted("close", two)->meant == "closed");
  CHECK(doubted("opne", two)->meant == "open");
  CHECK(doubted("of", {"off", "on"})->meant == "off");
  CHECK(doubted("5V", two)->problem == "interlock has had the words closed, open, never 5V");
  CHECK_FALSE(doubted("5V", two)->meant);
  CHECK(doubted("1", two));
  CHECK_FALSE(doubted("open", two));
  CHECK_FALSE(doubted("on", {"off"}));
  CHECK_FALSE(doubted("charge", {"off", "run"}));
  CHECK_FALSE(doubted("2", {"0", "1"}));
  CHECK_FALSE(doubted("step2", {"step1"}));
  CHECK_FALSE(doubted("5V", {}));
}

TEST_CASE("a decimal comma is never right, and read as a point where that makes a value") {
  CHECK(doubt_of_number("12,5A")->meant == "12.5A");
  CHECK(doubt_of_number("-0,5")->meant == "-0.5");
  CHECK(doubt_of_number("12,5 mA")->meant == "12.5 mA");
  CHECK_FALSE(doubt_of_number("1,234,567")->meant);
  CHECK_FALSE(doubt_of_number("1,2.5V")->meant);
  CHECK_FALSE(doubt_of_number("12.5A"));
  CHECK_FALSE(doubt_of_number("open"));
  CHECK_FALSE(settle_doubt(doubt_of_number("12,5A"), "12,5A", true).ok());
}

struct Bench : BenchFolder {
  CaptureWriter writer;

  Bench() : writer(must(CaptureWriter::create(folder / "a.capture"))) {
    must(writer.lock_for_recording());
    SessionInfo info;
    start_session_clock(info);
    must(writer.begin_session(info));
    for (const char* const known :
         {"pack_current 5A", "interlock open", "interlock closed", "room 20degC"}) {
      REQUIRE(set(known).status == 0);
    }
  }
  [[nodiscard]] Ran set(const std::string& words) const {
    return run("stimulus a.capture set " + words + " </dev/null");
  }
  // "pack_current=12.5 A", or the word.
  [[nodiscard]] std::string last() const {
    auto reader = must(CaptureReader::open(folder / "a.capture"));
    const auto all = must(reader.readings(1));
    const StoredReading& one = *std::ranges::max_element(all, {}, &StoredReading::id);
    char value[40];
    std::snprintf(value, sizeof value, "%g %s", one.reading.value, one.channel.unit.c_str());
    return std::to_string(one.id) + ' ' + one.channel.name + '=' +
           (one.channel.is_state() ? one.reading.state : value);
  }
};

TEST_CASE(
    "where nobody can be asked a slip is refused with what was meant, and --new lets it pass") {
  const Bench bench;
  const auto refused = [&](const std::string& words, const std::string& why) {
    const auto ran = bench.set(words);
    CHECK(ran.status == 2);
    CHECK(ran.err == "foundling stimulus: error: " + why + '\n');
    CHECK(bench.last() == "4 room=20 °C");
  };
  refused("pack_curent 12A",
          "channel pack_curent is not in this capture; did you mean pack_current? --new says that "
          "it is really meant so");
  refused("interlock opened",
          "interlock has had the words closed, open, never opened; did you mean open? --new says "
          "that it is really meant so");
  refused("interlock 5V",
          "interlock has had the words closed, open, never 5V; --new says that it is really meant "
          "so");
  refused("room 12,5A", "decimals are written with a point, found \"12,5A\"; did you mean 12.5A?");
  refused("fan 12,5A", "decimals are written with a point, found \"12,5A\"; did you mean 12.5A?");
  refused("fan 12,5A --new",
          "decimals are written with a point, found \"12,5A\"; did you mean 12.5A?");
  refused("fan 12 5A",
          "expected a number like 12.5 and its unit, found \"12 5A\"; decimals are written with a "
          "point");
  CHECK(bench.set("pack_curent 12A --new").status == 0);
  CHECK(bench.last() == "5 pack_curent=12 A");
  CHECK(bench.set("interlock opened --new").status == 0);
  CHECK(bench.last() == "6 interlock=opened");
  const auto wrong = bench.run("stimulus correct a.capture 6 clsed </dev/null");
  CHECK(wrong.status == 2);
  CHECK(has(wrong.err, "did you mean closed?"));
}

TEST_CASE("on a terminal a slip is asked back") {
  const Bench bench;
  const auto typed = [&](const char* words, const char* asked, const char* answer, int status) {
    TerminalSession person(bench.folder.path(), std::string("stimulus a.capture set ") + words);
    REQUIRE(person.shows(asked));
    person.type(answer);
    CHECK(person.status() == status);
    return bench.last();
  };
  CHECK(typed("pack_curent 12A", "Did you mean pack_current? y: yes, n: pack_curent is really new",
              "y\r", 0) == "5 pack_current=12 A");
  CHECK(typed("interlock opened", "Did you mean open?", "n\r", 0) == "6 interlock=opened");
  CHECK(typed("interlock 5V", "y: 5V is really meant", "\r", 2) == "6 interlock=opened");
  CHECK(typed("pack_current 12,5A", "Did you mean 12.5A?", "what\ryes\r", 0) ==
        "7 pack_current=12.5 A");
  CHECK(typed("pack_curent 12A", "Did you mean pack_current?", "\4", 2) == "7 pack_current=12.5 A");
}

}  // namespace
}  // namespace foundling
