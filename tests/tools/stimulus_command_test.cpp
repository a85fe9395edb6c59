// `foundling import`, `export` and `stimulus` as a person runs them, the last into a capture that a
// recorder (here: this test) has open.
#include <doctest/doctest.h>

#include <chrono>
#include <cmath>
#include <cstdlib>
#include <map>
#include <string>

#include "schemas/capture/capture_writer.h"
#include "schemas/capture/session_clock.h"
#include "tests/scratch_folder.h"
#include "tests/tools/files.h"

namespace foundling {
namespace {

struct Ran {
  int status = -1;
  std::string out, err;
};

Ran run(const ScratchFolder& folder, const std::string& words) {
  const std::string line = "cd '" + folder.path().string() + "' && '" FOUNDLING_PROGRAM "' " +
                           words + " >out.txt 2>err.txt";
  const int status = std::system(line.c_str());
  return {WEXITSTATUS(status), get(folder / "out.txt"), get(folder / "err.txt")};
}

struct Recorder {
  CaptureWriter writer;
  std::int64_t session;
};

Recorder start_recorder(const ScratchFolder& folder) {
  auto writer = must(CaptureWriter::create(folder / "a.capture"));
  must(writer.lock_for_recording());
  SessionInfo info;
  start_session_clock(info);
  info.started_boot_ns -= 3'000'000'000;  // it began three seconds ago
  const auto session = must(writer.begin_session(info));
  return {std::move(writer), session};
}

std::vector<StoredReading> readings(const ScratchFolder& folder) {
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  return must(reader.readings(1));
}

TEST_CASE("a reading goes into the running capture with the session's present time") {
  const ScratchFolder folder;
  const auto begun = std::chrono::steady_clock::now();
  auto recorder = start_recorder(folder);
  const auto ran = run(folder, "stimulus a.capture set pack_current 12.5A --uncertainty 0.02");
  const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - begun;
  const std::string told = "reading 1: pack_current = 12.5 A ± 0.02 at ";
  REQUIRE(ran.err.find(told) == 0);
  // However busy the machine: from three seconds on, by no more than all of it took.
  const double at_s = std::stod(ran.err.substr(told.size()));
  CHECK(at_s >= 3);
  CHECK(at_s <= 3 + taken.count());
  CHECK(ran.status == 0);
  CHECK(ran.out.empty());
  const auto stored = readings(folder);
  REQUIRE(stored.size() == 1);
  CHECK(stored[0].reading.value == 12.5);
  CHECK(stored[0].reading.uncertainty == 0.02);
  CHECK(stored[0].reading.t_ns >= 3'000'000'000);
  CHECK(stored[0].reading.t_ns < 63'000'000'000);
  // The recorder goes on afterwards.
  must(recorder.writer.add_health(recorder.session, {}));
}

TEST_CASE("negative values, words, units apart, the verb first") {
  const ScratchFolder folder;
  auto recorder = start_recorder(folder);
  CHECK(run(folder, "stimulus set a.capture pack_current -500 mA --kind sample").status == 0);
  CHECK(run(folder, "stimulus a.capture set interlock closed --at 1.5").status == 0);
  const auto stored = readings(folder);
  REQUIRE(stored.size() == 2);
  CHECK(stored[0].channel.name == "interlock");
  CHECK(stored[0].reading.state == "closed");
  CHECK(stored[0].reading.t_ns == 1'500'000'000);
  CHECK(stored[1].reading.value == -500);
  CHECK(stored[1].channel.kind == ChannelKind::sample);
}

TEST_CASE("a reading waits while the recorder writes") {
  const ScratchFolder folder;
  auto recorder = start_recorder(folder);
  must(recorder.writer.begin());
  must(recorder.writer.add_health(recorder.session, {}));
  const std::string line = "cd '" + folder.path().string() +
                           "' && '" FOUNDLING_PROGRAM
                           "' stimulus a.capture set pack_current 1A 2>err.txt & sleep 0.4";
  CHECK(std::system(line.c_str()) == 0);
  must(recorder.writer.commit());
  for (int i = 0; i < 100 && readings(folder).empty(); ++i) {
    CHECK(std::system("sleep 0.1") == 0);
  }
  CHECK(readings(folder).size() == 1);
}

TEST_CASE("without a clock that runs, the time has to be given") {
  const ScratchFolder folder;
  auto recorder = start_recorder(folder);
  const auto refused = [&](const char* why) {
    const auto ran = run(folder, "stimulus a.capture set pack_current 1A");
    CHECK(ran.status == 2);
    CHECK(ran.err.find(why) != std::string::npos);
    CHECK(ran.err.find("--at SECONDS") != std::string::npos);
  };
  must(recorder.writer.end_session(recorder.session, 5));
  refused("session 1 has ended");
  SessionInfo elsewhere;
  start_session_clock(elsewhere);
  elsewhere.boot_id = "another boot";
  must(recorder.writer.begin_session(elsewhere));
  refused("before this machine last started");
  SessionInfo left;
  start_session_clock(left);
  must(recorder.writer.begin_session(left));
  must(recorder.writer.close());
  refused("nobody is recording");
  CHECK(run(folder, "stimulus a.capture set pack_current 1A --at 2").status == 0);
}

TEST_CASE("a correction supersedes, a list shows what counts") {
  const ScratchFolder folder;
  auto recorder = start_recorder(folder);
  run(folder, "stimulus a.capture set pack_current 12.5A --at 1");
  run(folder, "stimulus a.capture set pack_current 13A --at 2");
  CHECK(run(folder, "stimulus a.capture correct 1 1250 mA").status == 0);
  CHECK(run(folder, "stimulus a.capture correct 2 --withdraw").status == 0);
  CHECK(run(folder, "stimulus a.capture correct 9 1A").status == 2);
  CHECK(run(folder, "stimulus a.capture correct 2 1A").status == 2);
  const auto list = run(folder, "stimulus a.capture list");
  CHECK(list.out ==
        "number           time  channel       value\n"
        "     3  1.000000000 s  pack_current  1.25 A\n");
  const auto all = run(folder, "stimulus a.capture list --all --json");
  CHECK(all.out.find("\"superseded_by\": 3") != std::string::npos);
}

TEST_CASE("a CSV goes into the last session on its clock") {
  const ScratchFolder folder;
  auto recorder = start_recorder(folder);
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  const auto origin = must(reader.session({})).info.origin_ns;
  put(folder / "s.csv", "time_s,channel,unit,value\n" + std::to_string(origin / 1'000'000'000 + 1) +
                            ",pack_current,A,1\n");
  CHECK(run(folder, "stimulus a.capture import s.csv --offset 0.5").status == 0);
  const auto stored = readings(folder);
  REQUIRE(stored.size() == 1);
  CHECK(stored[0].reading.t_ns == 1'500'000'000 - origin % 1'000'000'000);
  put(folder / "bad.csv", "time_s,channel,unit,value\n1,pack_current,V,1\n");
  const auto bad = run(folder, "stimulus a.capture import bad.csv");
  CHECK(bad.status == 2);
  CHECK(bad.err.find("bad.csv:2:16: error: channel pack_current was in A before") == 0);
  CHECK(readings(folder).size() == 1);
}

TEST_CASE("what the meter shows of a shunt or a thermistor goes in as amperes and degrees") {
  const ScratchFolder folder;
  auto recorder = start_recorder(folder);
  const auto amps = run(folder,
                        "stimulus a.capture set pack_current 12.50mV --sensor 'shunt 100 A / 75 mV'"
                        " --meter '0.05% + 2 digits' --at 1");
  CHECK(amps.err ==
        "reading 1: pack_current = 16.6666666666667 A ± 0.02 at 1.000000000 s of "
        "session 1\n");
  CHECK(amps.status == 0);
  // Semitec 103AT-2 data sheet: 27.28 kΩ at 0 °C, 17.96 kΩ at 10 °C.
  put(folder / "103at.csv", "celsius,ohm\n-10,42470\n0,27280\n10,17960\n25,10000\n");
  CHECK(run(folder,
            "stimulus a.capture set temp_1 27.28kohm --at 2 --sensor"
            " 'thermistor table 103at.csv'")
            .status == 0);
  CHECK(run(folder,
            "stimulus a.capture set temp_1 17.96kohm --at 2 --sensor"
            " 'thermistor table 103at.csv ± 0.5 °C' --uncertainty 0.01")
            .status == 0);
  const auto stored = readings(folder);
  REQUIRE(stored.size() == 3);
  CHECK(stored[1].channel.unit == "°C");
  CHECK(std::abs(stored[1].reading.value) < 1e-9);
  CHECK(stored[2].reading.value == doctest::Approx(10));
  CHECK(stored[2].reading.uncertainty == doctest::Approx(0.2887).epsilon(1e-3));
}

TEST_CASE("a wrong sensor, meter or table is told with its place, and nothing is written") {
  const ScratchFolder folder;
  auto recorder = start_recorder(folder);
  const auto fault = [&](const std::string& options) {
    const auto ran = run(folder, "stimulus a.capture set temp_1 5kohm " + options);
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    return ran.err;
  };
  CHECK(fault("--sensor 'pt100 class C'") ==
        "foundling stimulus: error: --sensor: sensor: expected A or B, found \"C\" at column 13\n");
  CHECK(fault("--meter 'two digits'")
            .find("expected a number like 0.05, found \"two digits\" at "
                  "column 1") != std::string::npos);
  put(folder / "bad.csv", "celsius,ohm\n0,27280\n10,much\n");
  CHECK(
      fault("--sensor 'thermistor table bad.csv'").find("bad.csv:3:4: error: expected a number") !=
      std::string::npos);
  put(folder / "turn.csv", "celsius,ohm\n0,5\n10,4\n20,4.5\n");
  CHECK(fault("--sensor 'thermistor table turn.csv'").find("turns back at 20 °C") !=
        std::string::npos);
  CHECK(fault("--sensor 'thermistor table none.csv'").find("none.csv") != std::string::npos);
  CHECK(readings(folder).empty());
}

TEST_CASE("a note is kept at its moment, corrected and withdrawn") {
  const ScratchFolder folder;
  auto recorder = start_recorder(folder);
  CHECK(run(folder, "stimulus a.capture mark left clip off --at 1").status == 0);
  CHECK(run(folder, "stimulus a.capture mark now").err == "mark m2: now\n");
  CHECK(run(folder, "stimulus a.capture correct m1 right clip off").status == 0);
  CHECK(run(folder, "stimulus a.capture correct m2 --withdraw").status == 0);
  CHECK(run(folder, "stimulus a.capture correct m2 again").status == 2);
  CHECK(run(folder, "stimulus a.capture correct m9 again").status == 2);
  CHECK(run(folder, "stimulus a.capture mark").status == 2);
  run(folder, "stimulus a.capture set pack_current 2A --at 0.5");
  const auto list = run(folder, "stimulus a.capture list");
  CHECK(list.out ==
        "number           time  channel       value\n"
        "     1  0.500000000 s  pack_current  2 A\n"
        "    m3  1.000000000 s  (note)        right clip off\n");
  const auto all = run(folder, "stimulus a.capture list --all --json");
  CHECK(all.out.find("\"text\": \"left clip off\"") != std::string::npos);
}

TEST_CASE("a time outside the session is refused with its place") {
  const ScratchFolder folder;
  auto recorder = start_recorder(folder);
  const auto late = run(folder, "stimulus a.capture set pack_current 1A --at 1000");
  CHECK(late.status == 2);
  // Up to now, three seconds and what the programs took to start.
  const std::string said = "--at: 1000 s lies outside session 1, 0 to ";
  const std::size_t at = late.err.find(said);
  REQUIRE(at != std::string::npos);
  const double end_s = std::stod(late.err.substr(at + said.size()));
  CHECK(end_s >= 3);
  CHECK(end_s < 100);
  CHECK(run(folder, "stimulus a.capture set oil 1bar --kind sample --at -1").status == 2);
  CHECK(run(folder, "stimulus a.capture set pack_current 1A --at -100000").status == 2);
  // A supply may have been on before the recording began.
  CHECK(run(folder, "stimulus a.capture set pack_current 1A --at -5").status == 0);
  CHECK(run(folder, "stimulus a.capture correct 1 2A --at 1000").status == 2);
  put(folder / "s.csv", "time_s,channel,unit,value\n1,pack_current,A,1\n2000,pack_current,A,1\n");
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  const auto origin = must(reader.session({})).info.origin_ns / 1'000'000'000;
  const auto import =
      run(folder, "stimulus a.capture import s.csv --offset " + std::to_string(origin + 1));
  CHECK(import.status == 2);
  CHECK(import.err.find("s.csv:3:1: error: 200") != std::string::npos);
  CHECK(readings(folder).size() == 1);
}

TEST_CASE("mistakes are answered with exit status 2 and a way on") {
  const ScratchFolder folder;
  auto recorder = start_recorder(folder);
  CHECK(run(folder, "stimulus a.capture sett pack_current 1A").err.find("did you mean 'set'?") !=
        std::string::npos);
  CHECK(run(folder, "stimulus a.capture").status == 2);
  CHECK(run(folder, "stimulus no.capture list").status == 2);
  CHECK(run(folder, "export a.capture").status == 2);
  CHECK(run(folder, "export a.capture --frames x.txt").err.find("ends in .csv or .pcapng") !=
        std::string::npos);
  CHECK(run(folder, "import --frames a.capture b.capture").status == 2);
}

TEST_CASE("since when a reading may be true goes from a CSV into a capture and out again") {
  const ScratchFolder folder;
  put(folder / "f.csv",
      "time_s,bus,identifier,extended,payload\n1700000000.5,0,1A4,0,01\n"
      "1700000060.5,0,1A4,0,01\n");
  const std::string header = "time_s,channel,unit,value,uncertainty,kind,earliest_s\n";
  const std::string text = header +
                           "1700000010.000000000,a,A,1.5,,hold,1700000007.250000000\n"
                           "1700000020.000000000,a,A,2.5,,hold,\n";
  put(folder / "s.csv", text);
  REQUIRE(run(folder, "import --frames f.csv --stimulus s.csv a.capture").status == 0);
  CHECK(run(folder, "export a.capture --stimulus -").out == text);
  CHECK(readings(folder)[0].reading.earliest_ns == 6'750'000'000);
  const auto list = run(folder, "stimulus a.capture list").out;
  CHECK(list.find("1.5 A (since 6.750000000 s at the earliest)\n") != std::string::npos);
  const auto json = run(folder, "stimulus a.capture list --json").out;
  CHECK(json.find("\"earliest_ns\": 6750000000") != std::string::npos);
  CHECK(json.find("\"earliest_ns\": null") != std::string::npos);
  put(folder / "more.csv", header + "1700000030,a,A,3.5,,,1700000028\n");
  REQUIRE(run(folder, "stimulus a.capture import more.csv --offset 1").status == 0);
  CHECK(readings(folder).back().reading.earliest_ns == 28'500'000'000);
  put(folder / "bad.csv", header + "1700000040,a,A,3.5,,,1600000000\n");
  const auto bad = run(folder, "stimulus a.capture import bad.csv");
  CHECK(bad.status == 2);
  CHECK(bad.err.find("bad.csv:2:22: error: -100000000.5 s lies outside session 1") == 0);
  CHECK(readings(folder).size() == 3);
}

TEST_CASE("a correction can be pasted long after the session, whichever session it is of") {
  const ScratchFolder folder;
  put(folder / "f.csv", "time_s,bus,identifier,extended,payload\n0,0,1A4,0,01\n60,0,1A4,0,01\n");
  put(folder / "s.csv",
      "time_s,channel,unit,value,uncertainty,kind,earliest_s\n"
      "10,cell_01,V,34.56,0.002,hold,7\n20,interlock,state,open,,hold,\n"
      "30,pack_current,A,40,,hold,\n");
  REQUIRE(run(folder, "import --frames f.csv --stimulus s.csv a.capture").status == 0);
  {
    // A later session, without this reading.
    auto writer = must(CaptureWriter::open(folder / "a.capture", std::chrono::milliseconds(5000)));
    const auto later = must(writer.begin_session({}));
    must(writer.end_session(later, 5));
    must(writer.close());
  }
  const auto pasted = run(folder, "stimulus correct a.capture 1 3.456V");
  CHECK(pasted.err == "reading 4: cell_01 = 3.456 V ± 0.002 at 10.000000000 s of session 1\n");
  CHECK(pasted.status == 0);
  CHECK(run(folder, "stimulus correct a.capture 2 closed").status == 0);
  CHECK(run(folder, "stimulus correct a.capture 3 -40A").status == 0);
  std::map<std::string, Reading> valid;
  for (const StoredReading& one : readings(folder)) {
    if (one.superseded_by == 0) valid[one.channel.name] = one.reading;
  }
  CHECK(valid["cell_01"].value == 3.456);
  CHECK(valid["cell_01"].uncertainty == 0.002);
  CHECK(valid["cell_01"].earliest_ns == 7'000'000'000);
  CHECK(valid["interlock"].state == "closed");
  CHECK(valid["pack_current"].value == -40);
  // Once is enough.
  const auto again = run(folder, "stimulus correct a.capture 1 3.456V");
  CHECK(again.status == 2);
  CHECK(again.err.find("reading 1 was superseded before, by reading 4") != std::string::npos);
  CHECK(run(folder, "stimulus correct a.capture 1 3.456V --session 2")
            .err.find("session 2 has no reading 1") != std::string::npos);
  CHECK(readings(folder).size() == 6);
}

TEST_CASE("import and export as commands") {
  const ScratchFolder folder;
  const std::string text = "time_s,bus,identifier,extended,payload\n0.500000000,0,1A4,0,01\n";
  put(folder / "f.csv", text);
  const auto imported =
      run(folder, "import --frames f.csv --pack 'orchard tractor' --json a.capture");
  CHECK(imported.status == 0);
  CHECK(imported.out.find("\"frames\": 1") != std::string::npos);
  const auto out = run(folder, "export a.capture --frames -");
  CHECK(out.status == 0);
  CHECK(out.out == text);
  CHECK(run(folder, "export a.capture --frames f.pcapng --stimulus s.csv").status == 0);
  CHECK(get(folder / "s.csv") == "time_s,channel,unit,value,uncertainty,kind\n");
  CHECK(run(folder, "import --frames f.pcapng b.capture").status == 0);
  CHECK(run(folder, "export b.capture --frames -").out == text);
  CHECK(run(folder, "import --frames f.csv a.capture").status == 2);
}

}  // namespace
}  // namespace foundling
