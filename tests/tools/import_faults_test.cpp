// Whatever goes wrong in an import or export, no half file is left.
#include <doctest/doctest.h>
#include <sqlite3.h>

#include <cmath>
#include <cstdint>
#include <string>

#include "tests/capture/failing_disk.h"
#include "tests/scratch_folder.h"
#include "tests/tools/files.h"
#include "tools/exchange/far_readings.h"
#include "tools/exchange/new_capture.h"
#include "tools/exchange/stimulus_csv.h"

namespace foundling {
namespace {

std::size_t files_in(const std::filesystem::path& folder) {
  return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(folder), {}));
}

std::string many_frames() {
  std::string text = "time_s,bus,identifier,extended,payload\n";
  for (int i = 0; i < 2000; ++i) {
    text += std::to_string(i) + ",0,1A4,0,0102030405060708\n";
  }
  return text;
}

TEST_CASE("whichever write fails, the import leaves nothing and says why") {
  const ScratchFolder folder;
  put(folder / "f.csv", many_frames());
  FailingDisk disk;
  int failures = 0;
  for (int calls = 0;; ++calls) {
    CAPTURE(calls);
    disk.fail_after(calls, SQLITE_FULL);
    const auto outcome = import_frames(folder / "f.csv", folder / "a.capture");
    disk.recover();
    if (outcome) break;
    ++failures;
    const bool disk_named =
        outcome.error().code == ErrorCode::full || outcome.error().code == ErrorCode::io;
    CHECK(disk_named);
    CHECK(files_in(folder.path()) == 1);
  }
  CHECK(failures > 10);
  CHECK(frames_of(folder / "a.capture").size() == 2000);
}

TEST_CASE("an existing capture is left as it is") {
  const ScratchFolder folder;
  put(folder / "f.csv", many_frames());
  put(folder / "a.capture", "mine");
  const auto outcome = import_frames(folder / "f.csv", folder / "a.capture");
  REQUIRE_FALSE(outcome.ok());
  CHECK(outcome.error().code == ErrorCode::exists);
  CHECK(get(folder / "a.capture") == "mine");
  CHECK(files_in(folder.path()) == 2);
}

TEST_CASE("a name taken while the import ran is left as it is") {
  const ScratchFolder folder;
  {
    auto capture = must(NewCapture::start(folder / "a.capture"));
    put(folder / "a.capture", "quicker");
    CHECK(capture.finish().error().code == ErrorCode::exists);
  }
  CHECK(get(folder / "a.capture") == "quicker");
  CHECK(files_in(folder.path()) == 1);
}

TEST_CASE("files that are not there, folders and captures are refused as frames") {
  const ScratchFolder folder;
  const auto message = [&](const std::filesystem::path& file) {
    const auto outcome = import_frames(file, folder / "a.capture");
    REQUIRE_FALSE(outcome.ok());
    CHECK_FALSE(std::filesystem::exists(folder / "a.capture"));
    return outcome.error().message.substr(file.string().size());
  };
  CHECK(message(folder / "no.csv") == ": cannot open: No such file or directory");
  CHECK(message(folder.path()) == ": a folder, not a file of frames");
  put(folder / "b.capture", std::string("SQLite format 3\0", 16));
  CHECK(message(folder / "b.capture") == ": an SQLite file; frames come from pcap, pcapng or CSV");
}

TEST_CASE("a fault in the stimulus file leaves no capture") {
  const ScratchFolder folder;
  put(folder / "f.csv", many_frames());
  put(folder / "s.csv", "time_s,channel,unit,value\n1,a,A,x\n");
  ImportOrder order;
  order.frames = folder / "f.csv";
  order.stimulus = folder / "s.csv";
  order.capture = folder / "a.capture";
  CHECK_FALSE(import_session(order, [](std::uint64_t) {}).ok());
  CHECK(files_in(folder.path()) == 2);
}

TEST_CASE("two clocks that do not meet are pointed out") {
  const ScratchFolder folder;
  put(folder / "f.csv", many_frames());
  put(folder / "s.csv", "time_s,channel,unit,value\n1700000000,a,A,1\n");
  ImportOrder order;
  order.frames = folder / "f.csv";
  order.stimulus = folder / "s.csv";
  order.capture = folder / "a.capture";
  const auto outcome = must(import_session(order, [](std::uint64_t) {}));
  REQUIRE(outcome.remarks.size() == 1);
  CHECK(outcome.remarks[0].find("no reading lies within the time of the frames") == 0);
}

TEST_CASE("frames whose times no capture may hold are refused by their number") {
  const ScratchFolder folder;
  const struct {
    const char *first, *second, *words;
  } cases[] = {
      {"0", "9223372036", "f.csv: frame 2: its time lies more than a hundred years"},
      {"-9223372036", "9223372036", "f.csv: frame 1: its time lies more than a hundred years"},
      {"0", "330000000", "f.csv: frame 2: its time lies more than ten years from another's"},
      {"9000000000", "9000000001", "f.csv: frame 1: its time lies beyond the year 2116"},
      {"9000000000", "-9000000000", "f.csv: frame 1: its time lies beyond the year 2116"},
      {"1700000000", "-9000000000", "f.csv: frame 2: its time lies"},
  };
  for (const auto& one : cases) {
    CAPTURE(one.second);
    put(folder / "f.csv", "time_s,bus,identifier,extended,payload\n" + std::string(one.first) +
                              ",0,1A4,0,00\n" + one.second + ",0,1A4,0,00\n");
    const auto outcome = import_frames(folder / "f.csv", folder / "a.capture");
    REQUIRE_FALSE(outcome.ok());
    CAPTURE(outcome.error().message);
    CHECK(outcome.error().message.find(one.words) != std::string::npos);
    CHECK(files_in(folder.path()) == 1);
  }
}

TEST_CASE("a reading in another clock's time, or beyond all numbers, is said at the import") {
  const ScratchFolder folder;
  put(folder / "f.csv", many_frames());
  put(folder / "s.csv",
      "time_s,channel,unit,value\n0.001,a,A,1\n1700000000,a,A,2\n0.002,b,V,1.7e308\n");
  ImportOrder order;
  order.frames = folder / "f.csv";
  order.stimulus = folder / "s.csv";
  order.capture = folder / "a.capture";
  const auto outcome = must(import_session(order, [](std::uint64_t) {}));
  REQUIRE(outcome.remarks.size() == 2);
  CHECK(outcome.remarks[0] ==
        "channel a: 1 reading is far outside the time of the frames: at 1700000000.000000000 s; "
        "nothing is computed from it");
  CHECK(outcome.remarks[1] ==
        "channel b: 1 reading is beyond 1e12: 1.7e+308 at 0.002000000 s; nothing is computed from "
        "it");
  CHECK(outcome.readings == 3);  // recorded data stays as it came
}

Reading reading_of(std::int64_t t_ns, double value) {
  Reading reading;
  reading.t_ns = t_ns;
  reading.value = value;
  return reading;
}

TEST_CASE("what is far from a session is taken out of what is computed") {
  std::vector<ChannelSeries> channels(3);
  channels[0] = {{"a", "A", ChannelKind::hold}, {}};
  channels[1] = {{"b", "V", ChannelKind::hold}, {}};
  channels[2] = {{"c", "state", ChannelKind::hold}, {}};
  const std::int64_t hour = 3'600'000'000'000;
  for (const std::int64_t t : {-hour, std::int64_t{0}, 3 * hour, 3 * hour + 1, INT64_MAX}) {
    channels[0].readings.push_back(reading_of(t, 1.0));
  }
  channels[1].readings = {reading_of(0, 1e12), reading_of(1, -1.7e308),
                          reading_of(2, std::nan(""))};
  channels[2].readings = {reading_of(INT64_MIN, 0)};
  const auto said = leave_out_far_readings(channels, {0, hour});
  CHECK(said.size() == 3);
  REQUIRE(channels.size() == 2);  // c has no other reading
  CHECK(channels[0].readings.size() == 3);
  CHECK(channels[1].readings.size() == 1);
}

TEST_CASE("a number that is beyond all numbers in the channel's unit is refused with its place") {
  const ScratchFolder folder;
  put(folder / "s.csv", "time_s,channel,unit,value\n1,a,Wh,1\n2,a,kWh,1.7e308\n");
  const auto read = read_stimulus_csv(folder / "s.csv");
  REQUIRE_FALSE(read.ok());
  CHECK(read.error().message.find("s.csv:3:9: error: too large a number in Wh") !=
        std::string::npos);
}

TEST_CASE("an export that is given up leaves what was there before") {
  const ScratchFolder folder;
  put(folder / "out.csv", "before");
  {
    auto output = must(OutputFile::open((folder / "out.csv").string()));
    must(output.write("half"));
  }
  CHECK(get(folder / "out.csv") == "before");
  CHECK(files_in(folder.path()) == 1);
}

}  // namespace
}  // namespace foundling
