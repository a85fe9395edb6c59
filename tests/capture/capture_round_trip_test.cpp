// What the writer puts into a capture, the reader gives back.
#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/capture_writer.h"
#include "schemas/capture/session_clock.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

Frame frame(std::int64_t t_ns, CanId id, std::initializer_list<std::uint8_t> bytes,
            std::uint8_t bus = 0, std::uint8_t flags = 0) {
  Frame made;
  made.t_ns = t_ns;
  made.id = id;
  made.bus = bus;
  made.flags = flags;
  for (const std::uint8_t byte : bytes) made.payload[made.length++] = byte;
  return made;
}

bool same(const Frame& a, const Frame& b) {
  return a.t_ns == b.t_ns && a.id == b.id && a.bus == b.bus && a.flags == b.flags &&
         a.length == b.length && a.payload == b.payload;
}

TEST_CASE("frames come back as they were written, in order") {
  const ScratchFolder folder;
  const std::vector<Frame> frames{
      frame(0, CanId::standard(0x1A4), {1, 2, 3, 4, 5, 6, 7, 8}),
      frame(5, CanId::extended(0x18FEF100), {}, 1),
      frame(5, CanId{0x123 | CanId::remote_flag}, {0, 0}),
      frame(std::int64_t{1} << 50, CanId::standard(0x7FF), {0xFF}, 255, fd_flag_fd_format),
  };
  auto writer = must(CaptureWriter::create(folder / "a.capture"));
  const std::int64_t session = must(writer.begin_session({}));
  must(writer.add_frames(session, frames));
  must(writer.end_session(session, 77));
  must(writer.close());
  CHECK_FALSE(std::filesystem::exists(folder / "a.capture-wal"));

  auto reader = must(CaptureReader::open(folder / "a.capture"));
  std::vector<Frame> back;
  must(reader.for_each_frame(session, time_from_start, time_to_end, [&](const Frame& one) {
    back.push_back(one);
    return true;
  }));
  REQUIRE(back.size() == frames.size());
  for (std::size_t i = 0; i < frames.size(); ++i) CHECK(same(back[i], frames[i]));
  const SessionRow row = must(reader.session({}));
  CHECK(row.frames == 4);
  CHECK(row.first_ns == 0);
  CHECK(row.last_ns == std::int64_t{1} << 50);
  CHECK(row.ended);
  CHECK(row.ended_ns == 77);
}

TEST_CASE(
    "load sorts messages by bus, standard before extended, number; leaves out remote frames") {
  const ScratchFolder folder;
  auto writer = must(CaptureWriter::create(folder / "a.capture"));
  const std::int64_t session = must(writer.begin_session({}));
  std::vector<Frame> frames;
  for (std::int64_t i = 0; i < 1000; ++i) {
    frames.push_back(frame(i * 10, CanId::extended(0x100), {static_cast<std::uint8_t>(i)}));
    frames.push_back(frame(i * 10 + 1, CanId::standard(0x200), {1, 2}, 1));
    // One payload of another length in the middle of the others.
    if (i == 500) {
      frames.push_back(frame(i * 10 + 2, CanId::standard(0x300), {7, 8, 9}));
    } else {
      frames.push_back(frame(i * 10 + 2, CanId::standard(0x300), {7, 8}));
    }
    frames.push_back(frame(i * 10 + 3, CanId{0x300 | CanId::remote_flag}, {0}));
  }
  must(writer.add_frames(session, frames));
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  const SessionData data = must(reader.load(session));
  REQUIRE(data.messages.size() == 3);
  CHECK(data.messages[0].id == CanId::standard(0x300));
  CHECK(data.messages[1].id == CanId::extended(0x100));
  CHECK(data.messages[2].bus == 1);
  const MessageSeries& mixed = data.messages[0];
  REQUIRE(mixed.size() == 1000);
  CHECK(mixed.length == 3);
  REQUIRE(mixed.lengths.size() == 1000);
  CHECK(mixed.lengths[499] == 2);
  CHECK(mixed.lengths[500] == 3);
  for (std::size_t i = 0; i < 1000; ++i) {
    CHECK(mixed.row(i)[1] == 8);
    CHECK(mixed.row(i)[2] == (i == 500 ? 9 : 0));
    CHECK(mixed.t_ns[i] == static_cast<std::int64_t>(i) * 10 + 2);
    CHECK(data.messages[1].row(i)[0] == static_cast<std::uint8_t>(i));
  }
  CHECK(data.messages[1].lengths.empty());
}

TEST_CASE("a correction supersedes a reading, a withdrawal removes it, and nothing is deleted") {
  const ScratchFolder folder;
  auto writer = must(CaptureWriter::create(folder / "a.capture"));
  const std::int64_t session = must(writer.begin_session({}));
  const auto current = must(writer.ensure_channel({"pack_current", "A", ChannelKind::hold}));
  const auto lock = must(writer.ensure_channel({"interlock", "state", ChannelKind::hold}));
  must(writer.add_readings(session, current,
                           std::vector<Reading>{{10, 1.5, 0.1, ""}, {20, 25, NAN, ""}}));
  must(writer.add_readings(session, lock, std::vector<Reading>{{15, 0, NAN, "open"}}));
  must(writer.supersede(2, {20, 2.5, 0.1, ""}));
  must(writer.withdraw(1));
  CHECK(writer.supersede(2, {20, 3.5, 0.1, ""}).error().code == ErrorCode::usage);
  CHECK(writer.withdraw(1).error().code == ErrorCode::not_found);

  auto reader = must(CaptureReader::open(folder / "a.capture"));
  const auto series = must(reader.channel_series(session));
  REQUIRE(series.size() == 2);
  CHECK(series[0].channel.is_state());
  CHECK(series[0].readings.at(0).state == "open");
  REQUIRE(series[1].readings.size() == 1);
  CHECK(series[1].readings[0].value == 2.5);
  CHECK(must(reader.readings(session)).size() == 4);
}

TEST_CASE("a reading comes back with its number and the moment it was asked for") {
  const ScratchFolder folder;
  auto writer = must(CaptureWriter::create(folder / "a.capture"));
  const std::int64_t session = must(writer.begin_session({}));
  const auto current = must(writer.ensure_channel({"pack_current", "A", ChannelKind::hold}));
  const auto lock = must(writer.ensure_channel({"interlock", "state", ChannelKind::hold}));
  must(writer.add_reading(session, current, {10, 1.5, 0.1, "", -7}));
  must(writer.add_reading(session, lock, {15, 0, NAN, "open"}));
  must(writer.add_reading(session, lock, {20, 0, NAN, "closed", 20}));
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  const auto series = must(reader.channel_series(session));
  REQUIRE(series.size() == 2);
  CHECK(series[0].readings.at(0).earliest_ns == Reading::no_time);
  CHECK(series[0].readings.at(1).earliest_ns == 20);
  CHECK(series[0].readings.at(1).id == 3);
  CHECK(series[1].readings.at(0).earliest_ns == -7);
  CHECK(series[1].readings.at(0).id == 1);
}

TEST_CASE("a correction keeps the moment at which the reading was asked for") {
  const ScratchFolder folder;
  auto writer = must(CaptureWriter::create(folder / "a.capture"));
  const std::int64_t session = must(writer.begin_session({}));
  const auto current = must(writer.ensure_channel({"pack_current", "A", ChannelKind::hold}));
  must(writer.add_reading(session, current, {10, 1.5, 0.1, "", 4}));
  const auto second = must(writer.supersede(1, {10, 2.5, 0.1, ""}));
  const auto another = must(writer.supersede(second, {10, 3.5, 0.1, "", 6}));
  const auto before = must(writer.supersede(another, {5, 3.5, 0.1, ""}));
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  for (const StoredReading& stored : must(reader.readings(session))) {
    if (stored.id == second) CHECK(stored.reading.earliest_ns == 4);
    if (stored.id == another) CHECK(stored.reading.earliest_ns == 6);
    if (stored.id == before) CHECK(stored.reading.earliest_ns == Reading::no_time);
  }
}

TEST_CASE("a mark is corrected and withdrawn as a reading is") {
  const ScratchFolder folder;
  auto writer = must(CaptureWriter::create(folder / "a.capture"));
  const std::int64_t session = must(writer.begin_session({}));
  const auto first = must(writer.add_mark(session, {10, "note", "left clip off"}));
  const auto second = must(writer.add_mark(session, {20, "note", "nothing"}));
  const auto third = must(writer.supersede_mark(first, "right clip off"));
  must(writer.withdraw_mark(second));
  CHECK(writer.supersede_mark(first, "x").error().code == ErrorCode::usage);
  CHECK(writer.supersede_mark(99, "x").error().code == ErrorCode::not_found);
  CHECK(writer.withdraw_mark(second).error().code == ErrorCode::not_found);
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  const auto marks = must(reader.marks(session));
  REQUIRE(marks.size() == 3);
  CHECK(marks[0].superseded_by == third);
  CHECK(marks[1].mark.text == "right clip off");
  CHECK(marks[1].mark.t_ns == 10);
  CHECK(marks[1].superseded_by == 0);
  CHECK(marks[2].superseded_by == second);
}

TEST_CASE("of each instrument the last state counts") {
  const ScratchFolder folder;
  auto writer = must(CaptureWriter::create(folder / "a.capture"));
  const std::int64_t session = must(writer.begin_session({}));
  must(writer.add_instrument(session, {1, "volts", "away", "", 0, 0, "refused"}));
  must(writer.add_instrument(session, {2, "amps", "working", "ours,1,2,3", 7, 1, ""}));
  must(writer.add_instrument(session, {3, "volts", "working", "ours,1,2,3", 5, 0, ""}));
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  const auto all = must(reader.instruments(session));
  REQUIRE(all.size() == 2);
  CHECK(all[0].name == "amps");
  CHECK(all[0].refused == 1);
  CHECK(all[1].state == "working");
  CHECK(all[1].readings == 5);
}

TEST_CASE("a channel keeps its unit and kind") {
  const ScratchFolder folder;
  auto writer = must(CaptureWriter::create(folder / "a.capture"));
  const auto id = must(writer.ensure_channel({"pack_current", "A", ChannelKind::hold}));
  CHECK(must(writer.ensure_channel({"pack_current", "A", ChannelKind::hold})) == id);
  const auto other = writer.ensure_channel({"pack_current", "V", ChannelKind::hold});
  REQUIRE_FALSE(other.ok());
  CHECK(other.error().message == (folder / "a.capture").string() +
                                     ": channel pack_current is there already as hold in A, not "
                                     "hold in V");
}

TEST_CASE("events, gaps, clock marks and health come back") {
  const ScratchFolder folder;
  auto writer = must(CaptureWriter::create(folder / "a.capture"));
  SessionInfo info;
  start_session_clock(info);
  info.pack = "orchard tractor";
  info.bit_rate = 500000;
  const std::int64_t session = must(writer.begin_session(info));
  must(writer.add_event(
      session, {9, 1, 0x20000004, {0, 4, 0, 0, 0, 0, 0x60, 0}, "error-frame", "rx warning"}));
  must(writer.add_gap(session, {1, 2, 3, 4, "cable pulled"}));
  must(writer.add_clock(session, {5, 6, 7}));
  must(writer.add_health(session, {1, 2, 3, 4, 5, 6, "ok"}));
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  const auto events = must(reader.events(session));
  REQUIRE(events.size() == 1);
  CHECK(events[0].can_id == 0x20000004);
  CHECK(events[0].data[6] == 0x60);
  CHECK(must(reader.gaps(session)).at(0).why == "cable pulled");
  CHECK(must(reader.clock_marks(session)).at(0).step_ns == 7);
  CHECK(must(reader.health(session)).at(0).disk_free_bytes == 6);
  const SessionRow row = must(reader.session({}));
  CHECK(row.info.pack == "orchard tractor");
  CHECK(row.info.bit_rate == 500000);
  CHECK(row.info.boot_id == this_boot_id());
  const auto now = session_now_ns(row);
  REQUIRE(now.ok());
  CHECK(*now >= 0);
}

TEST_CASE("a second recorder on one capture is refused until the first one closes") {
  const ScratchFolder folder;
  auto first = must(CaptureWriter::create(folder / "a.capture"));
  must(first.lock_for_recording());
  auto second = must(CaptureWriter::open(folder / "a.capture", std::chrono::milliseconds(100)));
  CHECK(second.lock_for_recording().error().code == ErrorCode::busy);
  must(first.close());
  must(second.lock_for_recording());
  must(second.close());
  CHECK_FALSE(std::filesystem::exists(folder / "a.capture.recording"));
}

}  // namespace
}  // namespace foundling
