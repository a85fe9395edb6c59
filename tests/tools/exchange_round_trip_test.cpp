// Import, export, import: nothing is lost and nothing changes, for random frames.
#include <doctest/doctest.h>

#include <array>
#include <random>
#include <string>
#include <vector>

#include "schemas/capture/capture_writer.h"
#include "tests/scratch_folder.h"
#include "tests/tools/files.h"
#include "tools/exchange/frames_csv.h"
#include "tools/exchange/stimulus_csv.h"

namespace foundling {
namespace {

enum class Kinds { of_csv, of_pcapng };

Frame random_frame(std::mt19937_64& random, Kinds kinds) {
  static constexpr std::array<std::uint8_t, 16> lengths{0, 1,  2,  3,  4,  5,  6,  7,
                                                        8, 12, 16, 20, 24, 32, 48, 64};
  Frame frame;
  const auto number = static_cast<std::uint32_t>(random());
  frame.id = random() % 2 == 0 ? CanId::standard(number) : CanId::extended(number);
  frame.bus = static_cast<std::uint8_t>(random() % 3);
  frame.length = lengths[random() % 16];
  if (frame.length > 8) frame.flags = fd_flag_fd_format;
  for (std::size_t i = 0; i < frame.length; ++i)
    frame.payload[i] = static_cast<std::uint8_t>(random());
  if (kinds == Kinds::of_csv) return frame;
  if (random() % 8 == 0) frame.flags = static_cast<std::uint8_t>(4 + random() % 4);
  if (random() % 16 == 0 && frame.length <= 8) {
    frame.id.raw |= CanId::remote_flag;
    frame.payload = {};
    frame.flags = 0;
  }
  return frame;
}

struct Recorded {
  std::vector<Frame> frames;
  std::vector<BusEvent> events;
};

// A session as a recorder writes it: clock, origin, frames, for pcapng error frames too.
Recorded record(const std::filesystem::path& path, unsigned seed, std::int64_t origin_ns,
                Kinds kinds) {
  std::mt19937_64 random(seed);
  Recorded recorded;
  std::int64_t t_ns = 0;
  for (int i = 0; i < 3000; ++i) {
    Frame frame = random_frame(random, kinds);
    frame.t_ns = t_ns;
    recorded.frames.push_back(frame);
    if (kinds == Kinds::of_pcapng && random() % 50 == 0) {
      recorded.events.push_back({t_ns,
                                 frame.bus,
                                 CanId::error_flag | 0x204,
                                 {0, 4, 0, 0, 0, 0, 96, 1},
                                 "error-frame",
                                 "controller problem, error counters"});
    }
    t_ns += static_cast<std::int64_t>(random() % 1'000'000);
  }
  auto writer = must(CaptureWriter::create(path));
  SessionInfo info;
  info.origin_ns = origin_ns;
  const auto session = must(writer.begin_session(info));
  must(writer.add_frames(session, recorded.frames));
  must(writer.begin());
  for (const BusEvent& event : recorded.events) must(writer.add_event(session, event));
  must(writer.commit());
  must(writer.close());
  return recorded;
}

void check_same(const Recorded& recorded, const std::filesystem::path& capture) {
  const auto back = frames_of(capture);
  REQUIRE(back.size() == recorded.frames.size());
  for (std::size_t i = 0; i < back.size(); ++i) {
    CAPTURE(i);
    REQUIRE(same(back[i], recorded.frames[i]));
  }
  auto reader = must(CaptureReader::open(capture));
  const auto events = must(reader.events(1));
  REQUIRE(events.size() == recorded.events.size());
  for (std::size_t i = 0; i < events.size(); ++i) {
    CHECK(events[i].t_ns == recorded.events[i].t_ns);
    CHECK(events[i].bus == recorded.events[i].bus);
    CHECK(events[i].can_id == recorded.events[i].can_id);
    CHECK(events[i].data == recorded.events[i].data);
    CHECK(events[i].detail == recorded.events[i].detail);
  }
}

TEST_CASE("a recording goes through pcapng and CSV and back without a change") {
  for (unsigned seed = 1; seed <= 3; ++seed) {
    for (const std::int64_t origin : {std::int64_t{0}, std::int64_t{1'700'000'000'987'654'321}}) {
      for (const Kinds kinds : {Kinds::of_csv, Kinds::of_pcapng}) {
        CAPTURE(seed);
        CAPTURE(origin);
        const ScratchFolder folder;
        const auto recorded = record(folder / "a.capture", seed, origin, kinds);
        const bool csv = kinds == Kinds::of_csv;
        const auto file = folder / (csv ? "a.csv" : "a.pcapng");
        const auto format = csv ? FrameFormat::csv : FrameFormat::pcapng;
        CHECK(export_to(folder / "a.capture", format, file).not_carried.empty());
        must(import_frames(file, folder / "b.capture"));
        check_same(recorded, folder / "b.capture");
        auto reader = must(CaptureReader::open(folder / "b.capture"));
        CHECK(must(reader.session({})).info.origin_ns == origin);
        // And once more: the exported file itself comes back byte for byte.
        export_to(folder / "b.capture", format, folder / "again");
        CHECK(get(folder / "again") == get(file));
      }
    }
  }
}

TEST_CASE("a canonical CSV comes back byte for byte") {
  const ScratchFolder folder;
  const std::string text =
      "time_s,bus,identifier,extended,payload\n"
      "0.000000001,0,1A4,0,0102030405060708\n"
      "0.000000001,1,18FEF100,1,\n"
      "3600.123456789,0,007,0,FF\n";
  put(folder / "a.csv", text);
  must(import_frames(folder / "a.csv", folder / "a.capture"));
  export_to(folder / "a.capture", FrameFormat::csv, folder / "b.csv");
  CHECK(get(folder / "b.csv") == text);
}

TEST_CASE("what CSV cannot carry is counted") {
  const ScratchFolder folder;
  const auto recorded = record(folder / "a.capture", 5, 0, Kinds::of_pcapng);
  const auto outcome = export_to(folder / "a.capture", FrameFormat::csv, folder / "a.csv");
  REQUIRE(outcome.not_carried.size() == 3);
  const auto remote = std::count_if(recorded.frames.begin(), recorded.frames.end(),
                                    [](const Frame& f) { return f.id.is_remote(); });
  CHECK(outcome.not_carried[0] ==
        std::to_string(remote) + " remote frames left out: CSV cannot carry them");
  CHECK(outcome.not_carried[1] ==
        std::to_string(recorded.events.size()) + " error frames left out: CSV cannot carry them");
  CHECK(outcome.not_carried[2].find(" frames lost their FD flags") != std::string::npos);
}

TEST_CASE("times before the zero of pcapng are refused and leave no file") {
  const ScratchFolder folder;
  put(folder / "a.csv", "time_s,bus,identifier,extended,payload\n-1,0,1A4,0,\n");
  must(import_frames(folder / "a.csv", folder / "a.capture"));
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  const SessionRow session = must(reader.session({}));
  CHECK(session.first_ns == -1'000'000'000);
  {
    auto output = must(OutputFile::open((folder / "a.pcapng").string()));
    CHECK_FALSE(export_frames(reader, session, FrameFormat::pcapng, output).ok());
  }
  CHECK_FALSE(std::filesystem::exists(folder / "a.pcapng"));
}

TEST_CASE("readings come back with exact times and values") {
  const ScratchFolder folder;
  put(folder / "f.csv", "time_s,bus,identifier,extended,payload\n1700000000.5,0,1A4,0,\n");
  const std::string text =
      "time_s,channel,unit,value,uncertainty,kind\n"
      "1699999999.000000001,pack_current,A,0.1,0.02,hold\n"
      "1700000001.000000000,interlock,state,open,,hold\n"
      "1700000001.000000000,pack_current,A,-12.345678901234567,,hold\n"
      "1700000002.000000000,room,°C,21.5,1e-09,sample\n";
  put(folder / "s.csv", text);
  ImportOrder order;
  order.frames = folder / "f.csv";
  order.stimulus = folder / "s.csv";
  order.capture = folder / "a.capture";
  const auto outcome = must(import_session(order, [](std::uint64_t) {}));
  CHECK(outcome.readings == 4);
  CHECK(outcome.channels == 3);
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  const auto channels = must(reader.channel_series(1));
  CHECK(channels.at(1).readings.at(0).t_ns == -1'499'999'999);
  std::string back;
  append_stimulus_csv(back, channels, must(reader.session({})).info.origin_ns);
  CHECK(back == text);
}

TEST_CASE("the stimulus offset shifts the readings") {
  const ScratchFolder folder;
  put(folder / "f.csv", "time_s,bus,identifier,extended,payload\n10,0,1A4,0,\n");
  put(folder / "s.csv", "time_s,channel,unit,value\n7,pack_current,A,1\n");
  ImportOrder order;
  order.frames = folder / "f.csv";
  order.stimulus = folder / "s.csv";
  order.stimulus_offset_ns = 2'500'000'000;
  order.capture = folder / "a.capture";
  must(import_session(order, [](std::uint64_t) {}));
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  CHECK(must(reader.readings(1)).at(0).reading.t_ns == 9'500'000'000);
}

}  // namespace
}  // namespace foundling
