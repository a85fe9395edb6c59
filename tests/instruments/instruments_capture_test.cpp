// Several instruments at once, through the recorder's queue and writer into a capture, and what
// `foundling status` makes of it.
#include <doctest/doctest.h>

#include <algorithm>
#include <thread>

#include "daemon/batch_writer.h"
#include "daemon/capture_sink.h"
#include "daemon/instruments/instruments.h"
#include "schemas/capture/capture_reader.h"
#include "schemas/capture/session_clock.h"
#include "tests/instruments/simulated_instrument.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"
#include "tools/status/recorder_status.h"

namespace foundling {
namespace {

InstrumentSettings meter(const std::string& name, LineKind kind, const std::string& address,
                         const std::string& channel) {
  InstrumentSettings made;
  made.name = name;
  made.line = kind;
  made.address = address;
  made.timeout_s = 5;
  InstrumentQuery query;
  query.ask = "READ?";
  query.channel = {channel, "V", ChannelKind::sample};
  query.unit = query.setting.unit = "V";
  query.every_s = 0.02;
  made.queries.push_back(query);
  return made;
}

std::size_t readings_of(const std::vector<StoredReading>& all, const std::string& channel) {
  return static_cast<std::size_t>(std::ranges::count_if(
      all, [&](const StoredReading& one) { return one.channel.name == channel; }));
}

TEST_CASE("several instruments record side by side, whatever befalls one of them") {
  const ScratchFolder folder;
  SimulatedInstrument first;
  SimulatedInstrument second(folder / "meter");
  SimulatedInstrument third;
  SimulatedInstrument fourth;
  fourth.set_answer("READ?", "98.1");
  first.set_answer("READ?", "98.1");
  second.set_answer("READ?", "3.3");
  third.set_answer("READ?", "9.9E37");
  std::string nowhere;
  {
    const SimulatedInstrument gone;
    nowhere = gone.address();
  }
  SessionInfo info;
  start_session_clock(info);
  const auto path = folder / "tractor.capture";
  auto sink = must(CaptureSink::open(path, {}, info));
  // Somebody made this one a hold channel meanwhile.
  {
    auto writer = must(CaptureWriter::open(path, std::chrono::seconds(5)));
    must(writer.ensure_channel({"taken", "V", ChannelKind::hold}));
    must(writer.close());
  }
  RecordQueue queue(1000);
  BatchWriter writer(queue, *sink);
  Instruments instruments({meter("pack meter", LineKind::tcp, first.address(), "pack_voltage"),
                           meter("cell meter", LineKind::serial, second.address(), "cell_01"),
                           meter("other meter", LineKind::tcp, third.address(), "temp"),
                           meter("lost meter", LineKind::tcp, nowhere, "lost"),
                           meter("double", LineKind::tcp, fourth.address(), "taken")},
                          info.started_boot_ns, queue);
  // Frames go on meanwhile.
  const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(30);
  std::vector<StoredReading> stored;
  std::size_t frames = 0;
  const auto all_are_seen = [&] {
    auto reader = must(CaptureReader::open(path));
    stored = must(reader.readings(1));
    return must(reader.instruments(1)).size() == 5 && readings_of(stored, "pack_voltage") >= 5 &&
           readings_of(stored, "cell_01") >= 5;
  };
  while (std::chrono::steady_clock::now() < until && !all_are_seen()) {
    Frame frame;
    frame.t_ns = boottime_now_ns() - info.started_boot_ns;
    queue.add_frames({&frame, 1});
    ++frames;
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
  const auto status = must(recorder_status(path.string()));
  instruments.stop();
  CHECK(writer.finish(std::chrono::seconds(10)) == 0);
  must(sink->finish(boottime_now_ns() - info.started_boot_ns));

  auto reader = must(CaptureReader::open(path));
  stored = must(reader.readings(1));
  CHECK(readings_of(stored, "pack_voltage") >= 5);
  CHECK(readings_of(stored, "cell_01") >= 5);
  CHECK(readings_of(stored, "temp") == 0);
  CHECK(readings_of(stored, "lost") == 0);
  CHECK(readings_of(stored, "taken") == 0);
  CHECK(must(reader.session({})).frames == frames);
  const std::int64_t end = must(reader.session({})).ended_ns;
  for (const StoredReading& one : stored) {
    CHECK(one.channel.kind == ChannelKind::sample);
    CHECK(one.reading.t_ns >= 0);
    CHECK(one.reading.t_ns <= end);
    CHECK(one.reading.value == (one.channel.name == "cell_01" ? 3.3 : 98.1));
  }
  const auto states = must(reader.instruments(1));
  REQUIRE(states.size() == 5);
  CHECK(states[0].name == "cell meter");
  CHECK(states[0].readings == readings_of(stored, "cell_01"));
  CHECK(states[2].state == "away");
  CHECK(states[3].state == "overload");
  CHECK(states[4].readings == readings_of(stored, "pack_voltage"));

  REQUIRE(status.instruments.size() == 5);
  const auto found = troubles(status, {});
  const std::string text = status_text(status, found);
  CHECK(text.find("instrument    cell meter: working, ") != std::string::npos);
  CHECK(text.find("look at       instrument lost meter is away: ") != std::string::npos);
  CHECK(text.find("look at       instrument other meter is overload: READ?: beyond the range") !=
        std::string::npos);
  CHECK(status_json(status, found).find("\"name\": \"pack meter\"") != std::string::npos);
}

}  // namespace
}  // namespace foundling
