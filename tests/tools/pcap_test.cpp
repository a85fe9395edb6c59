// pcap and pcapng: files made outside, ours read by libpcap, and files that are cut or wrong.
#include <doctest/doctest.h>
#include <pcap/pcap.h>

#include <array>
#include <string>
#include <vector>

#include "tests/scratch_folder.h"
#include "tests/tools/files.h"
#include "tools/exchange/can_record.h"
#include "tools/exchange/pcapng_writer.h"

namespace foundling {
namespace {

std::string bytes_of_hex(const std::string& hex) {
  std::string bytes;
  std::string digits;
  for (const char c : hex) {
    if (c == ' ' || c == '\n') continue;
    digits += c;
    if (digits.size() < 2) continue;
    bytes += static_cast<char>(std::stoi(digits, nullptr, 16));
    digits.clear();
  }
  return bytes;
}

// Written by libpcap 1.10.3 (pcap_dump) on a little-endian machine, nanosecond stamps, link type
// 227: classical, 29-bit, remote, error message frame. Layout: pcap-savefile(5), and tcpdump.org's
// page LINKTYPE_CAN_SOCKETCAN.
std::string libpcap_file() {
  return bytes_of_hex(
      "4d3cb2a1 02000400 00000000 00000000 00000400 e3000000 00f15365 15cd5b07"
      "10000000 10000000 00000123 08000000 01020304 05060708 00f15365 550f6b07"
      "10000000 10000000 98fef100 08000000 ff007dff ffffffff 00f15365 95517a07"
      "10000000 10000000 40000123 00000000 00000000 00000000 00f15365 d5938907"
      "10000000 10000000 20000004 08000000 00040000 00006000");
}

// Made by hand after IETF draft-ietf-opsawg-pcapng: interface 0 counts nanoseconds (if_tsresol 9),
// interface 1 microseconds; the last record is not padded.
std::string two_interfaces_file() {
  return bytes_of_hex(
      "0a0d0d0a 1c000000 4d3c2b1a 01000000 ffffffff ffffffff 1c000000"
      "01000000 20000000 e3000000 48000000 09000100 09000000 00000000 20000000"
      "01000000 14000000 e3000000 48000000 14000000"
      "06000000 30000000 00000000 fe9c9717 15cd853d 10000000 10000000"
      "00000123 08000000 01020304 05060708 30000000"
      "06000000 30000000 01000000 240a0600 40222018 10000000 10000000"
      "98fef100 08000000 ff007dff ffffffff 30000000"
      "06000000 2c000000 00000000 fe9c9717 15ae7b43 0b000000 0b000000"
      "00000456 03000000 aabbcc00 2c000000");
}

std::int64_t stamp(const std::filesystem::path& capture, const Frame& frame) {
  auto reader = must(CaptureReader::open(capture));
  return must(reader.session({})).info.origin_ns + frame.t_ns;
}

TEST_CASE("a file written by libpcap is imported with exact stamps, identifiers and lengths") {
  const ScratchFolder folder;
  put(folder / "a.pcap", libpcap_file());
  const auto outcome = must(import_frames(folder / "a.pcap", folder / "a.capture"));
  CHECK(outcome.frames == 3);
  CHECK(outcome.remote_frames == 1);
  CHECK(outcome.error_frames == 1);
  const auto frames = frames_of(folder / "a.capture");
  REQUIRE(frames.size() == 3);
  CHECK(stamp(folder / "a.capture", frames[0]) == 1'700'000'000'123'456'789);
  CHECK(stamp(folder / "a.capture", frames[1]) == 1'700'000'000'124'456'789);
  CHECK(stamp(folder / "a.capture", frames[2]) == 1'700'000'000'125'456'789);
  CHECK(frames[0].id.raw == 0x123);
  CHECK(frames[0].length == 8);
  CHECK(frames[0].payload[7] == 8);
  CHECK(frames[1].id.raw == 0x98FEF100);
  CHECK(frames[1].payload[2] == 0x7D);
  CHECK(frames[2].id.raw == 0x40000123);
  CHECK(frames[2].length == 0);
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  const auto events = must(reader.events(1));
  REQUIRE(events.size() == 1);
  CHECK(events[0].t_ns == 3'000'000);
  CHECK(events[0].can_id == 0x20000004);
  CHECK(events[0].data[1] == 0x04);
  CHECK(events[0].data[6] == 0x60);
  CHECK(events[0].detail == "controller problem");
}

TEST_CASE(
    "a pcapng file with two interfaces is imported as two buses, each in its own resolution") {
  const ScratchFolder folder;
  put(folder / "a.pcapng", two_interfaces_file());
  must(import_frames(folder / "a.pcapng", folder / "a.capture"));
  const auto frames = frames_of(folder / "a.capture");
  REQUIRE(frames.size() == 3);
  // The second packet's stamp lies 789 ns before the first one's: put into order.
  CHECK(stamp(folder / "a.capture", frames[0]) == 1'700'000'000'123'456'000);
  CHECK(frames[0].id.raw == 0x98FEF100);
  CHECK(frames[0].bus == 1);
  CHECK(stamp(folder / "a.capture", frames[1]) == 1'700'000'000'123'456'789);
  CHECK(frames[1].id.raw == 0x123);
  CHECK(frames[1].bus == 0);
  CHECK(stamp(folder / "a.capture", frames[2]) == 1'700'000'000'223'456'789);
  CHECK(frames[2].id.raw == 0x456);
  CHECK(frames[2].length == 3);
  CHECK(frames[2].payload[2] == 0xCC);
}

TEST_CASE("a microsecond pcap in the other byte order is read") {
  const ScratchFolder folder;
  put(folder / "a.pcap", bytes_of_hex("a1b2c3d4 00020004 00000000 00000000 00040000 000000e3"
                                      "6553f100 0001e240 00000010 00000010"
                                      "00000123 08000000 01020304 05060708"));
  must(import_frames(folder / "a.pcap", folder / "a.capture"));
  const auto frames = frames_of(folder / "a.capture");
  REQUIRE(frames.size() == 1);
  CHECK(stamp(folder / "a.capture", frames[0]) == 1'700'000'000'123'456'000);
  CHECK(frames[0].id.raw == 0x123);
}

TEST_CASE("a file cut anywhere is refused with packet and byte, or is whole up to there") {
  const ScratchFolder folder;
  for (const std::string& whole : {libpcap_file(), two_interfaces_file()}) {
    int refused = 0;
    for (std::size_t size = 0; size < whole.size(); ++size) {
      CAPTURE(size);
      const auto capture = folder / (std::to_string(size) + ".capture");
      put(folder / "cut", whole.substr(0, size));
      const auto outcome = import_frames(folder / "cut", capture);
      CHECK(std::filesystem::exists(capture) == outcome.ok());
      std::filesystem::remove(capture);
      if (outcome) continue;
      ++refused;
      const std::string name = (folder / "cut").string();
      CHECK(outcome.error().message.find(name) == 0);
      if (size > 100) {
        CHECK(outcome.error().message.find(": packet ") != std::string::npos);
        CHECK(outcome.error().message.find(", byte ") != std::string::npos);
      }
    }
    // Only where a packet ends can a cut not be seen.
    CHECK(refused >= static_cast<int>(whole.size()) - 6);
  }
}

TEST_CASE("a packet cut short names packet and byte") {
  const ScratchFolder folder;
  put(folder / "cut.pcap", libpcap_file().substr(0, 70));
  const auto outcome = import_frames(folder / "cut.pcap", folder / "a.capture");
  REQUIRE_FALSE(outcome.ok());
  CHECK(outcome.error().message ==
        (folder / "cut.pcap").string() +
            ": packet 2, byte 56: error: truncated dump file; tried to read 16 header bytes, only "
            "got 14");
}

TEST_CASE("another link type is refused by its name") {
  const ScratchFolder folder;
  std::string ethernet = libpcap_file();
  ethernet[20] = 1;
  put(folder / "e.pcap", ethernet);
  const auto outcome = import_frames(folder / "e.pcap", folder / "a.capture");
  REQUIRE_FALSE(outcome.ok());
  CHECK(outcome.error().message ==
        (folder / "e.pcap").string() + ": link type 1 (EN10MB), expected 227 (CAN_SOCKETCAN)");
  CHECK_FALSE(std::filesystem::exists(folder / "a.capture"));
}

TEST_CASE("records that are no CAN frames are refused") {
  const auto problem = [](const std::string& hex) {
    const std::string bytes = bytes_of_hex(hex);
    const auto read =
        frame_of_record({reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()});
    const auto* text = std::get_if<std::string>(&read);
    return text == nullptr ? std::string() : *text;
  };
  CHECK(problem("00000123 080000") == "expected at least 8 bytes, found 7");
  CHECK(problem("00000123 09000000 00000000 00000000 00").find("at most 8 bytes") !=
        std::string::npos);
  CHECK(problem("00000123 08000000 0102") == "payload of 8 bytes, but the packet holds 2");
  CHECK(problem("00000123 88000000 00000000 00000000") == "a CAN XL frame, which is not supported");
  CHECK(problem("00001123 00000000") ==
        "expected an 11-bit identifier, found more bits without the 29-bit flag");
  CHECK(problem("00000123 00000000") == "");
  CHECK(problem("40000123 08000000") == "");
}

TEST_CASE("a payload of a length that no frame has is refused") {
  for (int length = 0; length <= 64; ++length) {
    std::string bytes = bytes_of_hex("00000123 00040000");
    bytes[4] = static_cast<char>(length);
    bytes.resize(72);
    const auto read =
        frame_of_record({reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()});
    const bool good = length <= 8 || length == 12 || length == 16 || length == 20 || length == 24 ||
                      length == 32 || length == 48 || length == 64;
    CAPTURE(length);
    CHECK(std::holds_alternative<Frame>(read) == good);
  }
}

TEST_CASE("a fraction of more than a second is refused; seconds beyond 2038 are in the future") {
  const ScratchFolder folder;
  const auto file = [&](const std::string& stamp) {
    put(folder / "a.pcap",
        bytes_of_hex("a1b2c3d4 00020004 00000000 00000000 00040000 000000e3" + stamp +
                     "00000010 00000010"
                     "00000123 08000000 01020304 05060708"));
    return import_frames(folder / "a.pcap", folder / "a.capture");
  };
  for (const std::string fraction : {"000f4240", "7fffffff", "ffffffff"}) {
    const auto outcome = file("6553f100" + fraction);
    REQUIRE_FALSE(outcome.ok());
    CHECK(outcome.error().message.find("packet 1, byte 24: error: time stamp with a fraction") !=
          std::string::npos);
  }
  must(file("80000000 00000001"));
  const auto frames = frames_of(folder / "a.capture");
  REQUIRE(frames.size() == 1);
  CHECK(stamp(folder / "a.capture", frames[0]) == 2'147'483'648'000'001'000);
}

TEST_CASE("an FD record is known by its size where its flag was left out") {
  std::string bytes = bytes_of_hex("00000123 0c000000");
  bytes.resize(72);
  const auto read =
      frame_of_record({reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()});
  CHECK(std::get<Frame>(read).flags == fd_flag_fd_format);
  CHECK(std::get<Frame>(read).length == 12);
}

TEST_CASE("libpcap reads what we write") {
  const ScratchFolder folder;
  std::string bytes;
  PcapngWriter writer;
  writer.begin(bytes, "foundling");
  Frame frame;
  frame.id = CanId::standard(0x123);
  frame.length = 8;
  frame.payload = {1, 2, 3, 4, 5, 6, 7, 8};
  writer.append(bytes, frame, 1'700'000'000'123'456'789);
  frame.id = CanId::extended(0x18FEF100);
  frame.bus = 2;
  frame.length = 12;
  frame.flags = fd_flag_fd_format | fd_flag_bit_rate_switch;
  writer.append(bytes, frame, 1'700'000'000'123'456'790);
  put(folder / "a.pcapng", bytes);

  std::array<char, PCAP_ERRBUF_SIZE> problem{};
  pcap_t* const file = pcap_open_offline_with_tstamp_precision(
      (folder / "a.pcapng").c_str(), PCAP_TSTAMP_PRECISION_NANO, problem.data());
  CAPTURE(problem.data());
  REQUIRE(file != nullptr);
  CHECK(pcap_datalink(file) == DLT_CAN_SOCKETCAN);
  pcap_pkthdr* header = nullptr;
  const unsigned char* record = nullptr;
  REQUIRE(pcap_next_ex(file, &header, &record) == 1);
  CHECK(header->ts.tv_sec == 1'700'000'000);
  CHECK(header->ts.tv_usec == 123'456'789);
  CHECK(header->caplen == 16);  // sizeof(struct can_frame), linux/can.h
  CHECK(std::string(record, record + 6) == std::string("\0\0\x01\x23\x08\0", 6));
  CHECK(record[8] == 1);
  REQUIRE(pcap_next_ex(file, &header, &record) == 1);
  CHECK(header->ts.tv_usec == 123'456'790);
  CHECK(header->caplen == 72);  // sizeof(struct canfd_frame)
  CHECK(std::string(record, record + 6) == "\x98\xFE\xF1" + std::string("\0\x0C\x05", 3));
  CHECK(pcap_next_ex(file, &header, &record) == PCAP_ERROR_BREAK);
  pcap_close(file);
}

}  // namespace
}  // namespace foundling
