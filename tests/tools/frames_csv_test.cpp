// Frames as CSV: what is accepted, and the whole message for what is not.
#include "tools/exchange/frames_csv.h"

#include <doctest/doctest.h>

#include <string>

#include "tests/scratch_folder.h"
#include "tests/tools/files.h"

namespace foundling {
namespace {

const std::string header = "time_s,bus,identifier,extended,payload\n";

// The message for a file of this content, its name taken off; nothing may have been written.
std::string fault_of(const std::string& content) {
  const ScratchFolder folder;
  put(folder / "f.csv", content);
  const auto outcome = import_frames(folder / "f.csv", folder / "f.capture");
  REQUIRE_FALSE(outcome.ok());
  for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
    CHECK(entry.path().filename() == "f.csv");
  }
  const std::string message = outcome.error().message;
  const std::string name = (folder / "f.csv").string();
  REQUIRE(message.substr(0, name.size()) == name);
  return message.substr(name.size());
}

std::vector<Frame> frames_in(const std::string& content) {
  const ScratchFolder folder;
  put(folder / "f.csv", content);
  must(import_frames(folder / "f.csv", folder / "f.capture"));
  return frames_of(folder / "f.capture");
}

TEST_CASE("a plain file of frames is read") {
  const auto frames = frames_in(header +
                                "0.5,0,1A4,0,0102030405060708\n"
                                "0.5,1,18fef100,1,\n"
                                "1.25,2,0,false,ff\n"
                                "2,255,1FFFFFFF,true,00");
  REQUIRE(frames.size() == 4);
  CHECK(frames[0].t_ns == 500'000'000);
  CHECK(frames[0].id == CanId::standard(0x1A4));
  CHECK(frames[0].length == 8);
  CHECK(frames[0].payload[7] == 8);
  CHECK(frames[1].id == CanId::extended(0x18FEF100));
  CHECK(frames[1].bus == 1);
  CHECK(frames[1].length == 0);
  CHECK(frames[2].payload[0] == 0xFF);
  CHECK(frames[3].bus == 255);
}

TEST_CASE("a byte-order mark, CRLF, quotes, another order of columns and empty lines at the end") {
  const auto frames = frames_in(
      "\xEF\xBB\xBF\"bus\",time_s,identifier,payload,extended\r\n0,\"1.5\",\"1A4\",\"0A\","
      "0\r\n\r\n");
  REQUIRE(frames.size() == 1);
  CHECK(frames[0].t_ns == 1'500'000'000);
  CHECK(frames[0].payload[0] == 10);
}

TEST_CASE("a payload of more than 8 bytes is an FD frame") {
  const auto frames = frames_in(header + "0,0,1A4,0," + std::string(128, 'a') + "\n");
  REQUIRE(frames.size() == 1);
  CHECK(frames[0].length == 64);
  CHECK(frames[0].flags == fd_flag_fd_format);
}

TEST_CASE("lines out of order are sorted, equal times keep the file's order") {
  const ScratchFolder folder;
  put(folder / "f.csv", header + "2,0,1,0,\n1,0,2,0,\n1,0,3,0,\n0.5,0,4,0,\n3,0,5,0,\n");
  const auto outcome = must(import_frames(folder / "f.csv", folder / "f.capture"));
  CHECK(outcome.out_of_order == 2);
  std::string order;
  for (const Frame& frame : frames_of(folder / "f.capture")) {
    order += std::to_string(frame.id.number());
  }
  CHECK(order == "42315");
}

TEST_CASE(
    "times near zero stay as they are, wall-clock times start the session at its first frame") {
  const ScratchFolder folder;
  put(folder / "near.csv", header + "5,0,1,0,\n6,0,1,0,\n");
  put(folder / "wall.csv", header + "1700000001.5,0,1,0,\n1700000000.25,0,2,0,\n");
  must(import_frames(folder / "near.csv", folder / "near.capture"));
  must(import_frames(folder / "wall.csv", folder / "wall.capture"));
  CHECK(frames_of(folder / "near.capture")[0].t_ns == 5'000'000'000);
  const auto wall = frames_of(folder / "wall.capture");
  CHECK(wall[0].t_ns == 0);
  CHECK(wall[1].t_ns == 1'250'000'000);
  auto reader = must(CaptureReader::open(folder / "wall.capture"));
  const SessionRow session = must(reader.session({}));
  CHECK(session.info.origin_ns == 1'700'000'000'250'000'000);
  CHECK(session.info.started_utc_ns == session.info.origin_ns);
  CHECK(session.first_ns == 0);
  CHECK(session.last_ns == 1'250'000'000);
}

TEST_CASE("a malformed field is named with its line and column") {
  CHECK(fault_of(header + "0,0,1A4,0,01\n0,0,8A4,0,01\n") ==
        ":3:5: error: expected an identifier up to 7FF (11 bits), found \"8A4\"\n"
        "  0,0,8A4,0,01\n"
        "      ^^^");
  CHECK(fault_of(header + "x,0,1A4,0,01\n") ==
        ":2:1: error: expected seconds like 12.345678901, found \"x\"\n"
        "  x,0,1A4,0,01\n"
        "  ^");
  CHECK(fault_of(header + "0,256,1A4,0,01\n").find(":2:3: error: expected a bus number") == 0);
  CHECK(fault_of(header + "0,0,20000000,1,01\n")
            .find(":2:5: error: expected an identifier up to "
                  "1FFFFFFF (29 bits)") == 0);
  CHECK(fault_of(header + "0,0,0x1A4,0,01\n")
            .find(":2:5: error: expected an identifier in hex without a prefix, found \"0x1A4\"") ==
        0);
  CHECK(fault_of(header + "0,0,1A4,maybe,01\n").find(":2:9: error: expected 0 or 1") == 0);
  CHECK(fault_of(header + "0,0,1A4,0,012\n")
            .find(":2:11: error: expected an even number of hex digits, found 3") == 0);
  CHECK(fault_of(header + "0,0,1A4,0,01g2\n")
            .find(":2:13: error: expected a hex digit, found "
                  "\"g\"") == 0);
  CHECK(fault_of(header + "0,0,1A4,0," + std::string(130, '0') + "\n")
            .find(":2:11: error: expected a payload of at most 64 bytes, found 65") == 0);
  CHECK(fault_of(header + "0,0,1A4,0\n").find(":2:10: error: expected 5 fields, found 4") == 0);
  CHECK(fault_of(header + "0,0,1A4,0,01,7\n").find(":2:14: error: expected 5 fields, found more") ==
        0);
  CHECK(fault_of(header + "0,0,1A4,0,01\n\n0,0,1A4,0,01\n") ==
        ":3:1: error: expected 5 fields, found an empty line");
}

TEST_CASE("a header with a column too many, too few or twice is refused by name") {
  CHECK(fault_of("time_s,bus,identifier,extended,payload,colour\n")
            .find(":1:40: error: unknown column \"colour\", expected "
                  "time_s,bus,identifier,extended,payload") == 0);
  CHECK(fault_of("time_s,bus,identifer,extended,payload\n")
            .find(":1:12: error: unknown column \"identifer\", did you mean \"identifier\"?") == 0);
  CHECK(fault_of("time_s,bus,identifier,extended\n")
            .find(":1:31: error: column \"payload\" is missing") == 0);
  CHECK(fault_of("time_s,bus,bus,extended,payload\n")
            .find(":1:12: error: column \"bus\" is there twice") == 0);
}

TEST_CASE("an empty file is refused, a header alone is a session without frames") {
  CHECK(fault_of("") == ": empty file, expected frames");
  CHECK(frames_in(header).empty());
}

TEST_CASE("a line without an end and bytes that are no text are answered, not echoed") {
  CHECK(fault_of(header + std::string(3'000'000, '1'))
            .find(":2:1: error: a line of more than 1 MB") == 0);
  const std::string control = fault_of(header + "0,0,\x1B[31m,0,01\n");
  CHECK(control.find('\x1B') == std::string::npos);
}

TEST_CASE("the canonical line") {
  Frame frame;
  frame.id = CanId::standard(0x1A);
  frame.length = 2;
  frame.payload = {0xAB, 0x0C};
  std::string text;
  append_frame_csv(text, frame, 1'500'000'000);
  frame.id = CanId::extended(0x18FEF1);
  append_frame_csv(text, frame, 0);
  CHECK(text == "1.500000000,0,01A,0,AB0C\n0.000000000,0,0018FEF1,1,AB0C\n");
}

}  // namespace
}  // namespace foundling
