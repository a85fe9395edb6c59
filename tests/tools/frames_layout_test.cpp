// Other programs' tables of frames: the guess at their layout, the words that say it, and what is
// refused.
#include "tools/exchange/layout/frames_layout.h"

#include <doctest/doctest.h>

#include <string>
#include <utility>
#include <vector>

#include "tests/scratch_folder.h"
#include "tests/tools/files.h"
#include "tools/exchange/layout/layout_guess.h"
#include "tools/exchange/layout/layout_shown.h"

namespace foundling {
namespace {

// What import makes of such a file by such a layout.
Result<std::vector<Frame>> read_by(const std::string& content, const FramesLayout& layout) {
  const ScratchFolder folder;
  put(folder / "f.csv", content);
  ImportOrder order;
  order.frames = folder / "f.csv";
  order.capture = folder / "f.capture";
  order.frames_layout = layout;
  const auto outcome = import_session(order, [](std::uint64_t) {});
  CHECK(std::filesystem::exists(order.capture) == outcome.ok());
  if (!outcome) {
    Error error = outcome.error();
    error.message.erase(0, (folder / "f.csv").string().size());
    return error;
  }
  return frames_of(order.capture);
}

Result<std::vector<Frame>> read_by(const std::string& content, const std::string& words) {
  return read_by(content, must(parse_frames_layout(words)));
}

FramesGuess guess_of(const std::string& content) {
  const ScratchFolder folder;
  put(folder / "f.csv", content);
  return must(guess_frames_layout(folder / "f.csv"));
}

std::string guessed(const std::string& content) {
  return frames_layout_words(guess_of(content).layout);
}

std::string fault_of(const std::string& content, const std::string& words) {
  const auto read = read_by(content, words);
  return read ? "read" : read.error().message;
}

std::string fault_of_words(const std::string& words) {
  const auto layout = parse_frames_layout(words);
  return layout ? "taken" : layout.error().message;
}

// The same three frames as different loggers would write them.
const std::string semicolons =
    "Recorded on the bench\n"
    "Time [ms];ID;DLC;D0;D1;D2;D3;D4;D5;D6;D7;Dir\n"
    "0,5;0x1A4;3;01;FF;7f;;;;;;Rx\n"
    "80,25;0x1A4;8;01;02;03;04;05;06;07;08;Rx\n"
    "99,125;0x18FEF100;2;0A;0B;;;;;;;Rx\n";
const std::string joined =
    "timestamp_us,channel,can_id,extended,data\n"
    "500,can0,1A4,0,01FF7F\n"
    "80250,can0,1A4,0,0102030405060708\n"
    "99125,can0,18FEF100,1,0A0B\n";
const std::string blanks =
    "0.000500  1A4       3  01 FF 7F\n"
    "0.080250  1A4       8  01 02 03 04 05 06 07 08\n"
    "0.099125  18FEF100  2  0A 0B\n";
const std::string tabs =
    "No\tDate and time\tIdentifier (hex)\tPayload\n"
    "1\t1970-01-01 00:00:00.0005\t1A4\t01 FF 7F\n"
    "2\t1970-01-01 00:00:00.08025\t1A4\t01 02 03 04 05 06 07 08\n"
    "3\t1970-01-01T00:00:00.099125Z\t18FEF100\t0A-0B\n";
const std::string decimals =
    "\"time (s)\",\"id\",\"len\",\"b0\",\"b1\",\"b2\",\"b3\",\"b4\",\"b5\",\"b6\",\"b7\"\n"
    "0.0005,420,3,1,255,127\n"
    "0.08025,420,8,1,2,3,4,5,6,7,8\n"
    "0.099125,419361024,2,10,11,0,0,0,0,0,0\n";

}  // namespace

TEST_CASE("the tables of different loggers are guessed, and give the same frames") {
  const std::vector<std::pair<std::string, std::string>> tables{
      {semicolons,
       "separator semicolon, decimal comma, skip 2, time 1 ms, identifier 2 hex, length 3, "
       "data 4..11 hex"},
      {joined,
       "separator comma, decimal point, skip 1, time 1 us, bus 2, identifier 3 hex, extended 4, "
       "data 5 hex"},
      {blanks,
       "separator blank, decimal point, skip 0, time 1 s, identifier 2 hex, length 3, "
       "data 4.. hex"},
      {tabs, "separator tab, decimal point, skip 1, time 2 date, identifier 3 hex, data 4 hex"},
      {decimals,
       "separator comma, decimal point, skip 1, time 1 s, identifier 2 decimal, length 3, "
       "data 4.. decimal"}};
  for (const auto& [shown, words] : tables) {
    const auto& table = shown;
    CAPTURE(table);
    const FramesGuess guess = guess_of(table);
    CHECK(frames_layout_words(guess.layout) == words);
    const auto frames = must(read_by(table, guess.layout));
    REQUIRE(frames.size() == 3);
    CHECK(frames[0].t_ns == 500'000);
    CHECK(frames[1].t_ns == 80'250'000);
    CHECK(frames[2].t_ns == 99'125'000);
    CHECK(frames[0].id == CanId::standard(0x1A4));
    CHECK(frames[2].id == CanId::extended(0x18FEF100));
    CHECK(frames[0].length == 3);
    CHECK(frames[0].payload[1] == 0xFF);
    CHECK(frames[1].length == 8);
    CHECK(frames[1].payload[7] == 8);
    CHECK(frames[2].length == 2);
    CHECK(frames[2].payload[1] == 0x0B);
  }
}

TEST_CASE("a layout is read back from the words that say it") {
  for (const std::string& table : {semicolons, joined, blanks, tabs, decimals}) {
    const std::string words = guessed(table);
    CHECK(frames_layout_words(must(parse_frames_layout(words))) == words);
  }
  CHECK(frames_layout_words(must(parse_frames_layout("data 3,  time 1,identifier 2"))) ==
        "separator comma, decimal point, skip 1, time 1 s, identifier 2 hex, data 3 hex");
}

TEST_CASE("the unit of a time without a heading is told by its size and its steps") {
  const auto unit = [](const std::string& a, const std::string& b) {
    return must(parse_frames_layout(guessed(a + ",1A4,AABB\n" + b + ",1A5,AACC\n"))).table.unit;
  };
  CHECK(unit("1700000000.5", "1700000000.51") == LayoutTime::s);
  CHECK(unit("1700000000500", "1700000000510") == LayoutTime::ms);
  CHECK(unit("1700000000500000", "1700000000510000") == LayoutTime::us);
  CHECK(unit("1700000000500000000", "1700000000510000000") == LayoutTime::ns);
  CHECK(unit("0.5", "0.51") == LayoutTime::s);
  CHECK(unit("500", "510") == LayoutTime::ms);
  CHECK(unit("500000", "510000") == LayoutTime::us);
}

TEST_CASE("what a guess cannot know is said with it") {
  const FramesGuess guess = guess_of("5,100,0102\n17,101,0304\n");
  REQUIRE(guess.unsure.size() == 3);
  CHECK(guess.unsure[0].find("ms is taken") != std::string::npos);
  CHECK(guess.unsure[1].find("no identifier has a letter A to F") == 0);
  CHECK(guess.unsure[2].find("no byte has a letter A to F") == 0);
  CHECK(guess_of(semicolons).unsure.empty());
}

TEST_CASE("a guess is shown with its columns, its first frames and their rate") {
  const ScratchFolder folder;
  put(folder / "f.csv", semicolons);
  const std::string text =
      must(shown_guess(folder / "f.csv", must(guess_frames_layout(folder / "f.csv"))));
  CHECK(text.substr(text.find('\n') + 1) ==
        "  between fields: semicolon; decimals: comma; before the first row: 2 lines\n"
        "  column 1         \"Time [ms]\": time in milliseconds\n"
        "  column 2         \"ID\": identifier, hex\n"
        "  column 3         \"DLC\": number of bytes\n"
        "  columns 4 to 11  \"D0\": a byte each, hex\n"
        "  column 12        \"Dir\": not used\n"
        "Its first frames, read so:\n"
        "  0.000500000 s  bus 0  1A4  01 FF 7F\n"
        "  0.080250000 s  bus 0  1A4  01 02 03 04 05 06 07 08\n"
        "  0.099125000 s  bus 0  18FEF100  0A 0B\n"
        "The first 3 frames take 0.0986 s: 30.4 frames a second.\n");
}

TEST_CASE("longer frames behind the rows that were looked at keep all their bytes") {
  std::string table = "t_ms;id;b0;b1\n";
  for (int i = 0; i < 1200; ++i) table += std::to_string(10 * i) + ";1A4;AA;BB\n";
  table += "12000;1A4;AA;BB;01;02;03;04;05;06\n";
  const auto frames = must(read_by(table, guess_of(table).layout));
  CHECK(frames.back().length == 8);
  CHECK(frames.back().payload[7] == 6);
}

TEST_CASE("a row that is not as the layout says is named with its place, and nothing is written") {
  const std::string layout =
      "separator semicolon, decimal comma, skip 0, time 1 ms, identifier 2 hex, length 3, "
      "data 4..11 hex";
  CHECK(fault_of("1,5;1A4;1;01\n1.5;1A4;1;01\n", layout) ==
        ":2:1: error: expected a number of ms, found \"1.5\"\n"
        "  1.5;1A4;1;01\n"
        "  ^^^");
  CHECK(fault_of("1;1G4;1;01\n", layout).find(":1:3: error: expected an identifier in hex") == 0);
  CHECK(fault_of("1;20000000;1;01\n", layout).find(":1:3: error: expected an identifier") == 0);
  CHECK(fault_of("1;1A4;2;01\n", layout)
            .find(":1:9: error: expected 2 bytes, as column 3 says, found 1") == 0);
  CHECK(fault_of("1;1A4;2;01;;03\n", layout)
            .find(":1:13: error: expected nothing behind an empty byte, found \"03\"") == 0);
  CHECK(fault_of("1;1A4;1;100\n", layout).find(":1:9: error: expected a byte in hex") == 0);
  CHECK(fault_of("1;1A4\n", layout).find(":1:6: error: expected a column 3, found 2") == 0);
  CHECK(fault_of("1;1A4;x;01\n", layout).find(":1:7: error: expected a length") == 0);
  const std::string one = "time 1, bus 2, identifier 3, extended 4, length 5, data 6, skip 0";
  CHECK(fault_of("1,can300,1A4,0,1,01\n", one).find(":1:3: error: expected a bus number") == 0);
  CHECK(fault_of("1,0,1A4,maybe,1,01\n", one).find(":1:9: error: expected 0 or 1") == 0);
  CHECK(fault_of("1,0,8A4,std,1,01\n", one).find(":1:5: error: expected an identifier of 11") == 0);
  CHECK(fault_of("1,0,1A4,0,1,0102\n", one).find("expected 1 byte, as column 5 says, found 2") !=
        std::string::npos);
  CHECK(fault_of("1,0,1A4,0,1,012\n", one).find("two hex digits for each byte") !=
        std::string::npos);
  CHECK(fault_of("2026-02-30 12:00:00,0,1A4,0,1,01\n", "time 1 date, identifier 3, data 6, skip 0")
            .find(":1:1: error: expected a time like 2026-03-01 12:00:00.25") == 0);
}

TEST_CASE("a length may be the bytes of an FD frame or its code") {
  const std::string bytes(24, 'A');
  for (const char* length : {"12", "9"}) {
    const auto frames = must(read_by("1,1A4," + std::string(length) + "," + bytes + "\n",
                                     "skip 0, time 1, identifier 2, length 3, data 4"));
    REQUIRE(frames.size() == 1);
    CHECK(frames[0].length == 12);
    CHECK(frames[0].flags == fd_flag_fd_format);
  }
}

TEST_CASE("four digits and more are an identifier of 29 bits, unless a column says so") {
  const auto frames =
      must(read_by("1,00000123,,AA\n2,123,,AA\n", "skip 0, time 1, identifier 2, data 4"));
  CHECK(frames[0].id == CanId::extended(0x123));
  CHECK(frames[1].id == CanId::standard(0x123));
  const auto said = must(read_by("1,00000123,11,AA\n2,123,29,AA\n",
                                 "skip 0, time 1, identifier 2, extended 3, data 4"));
  CHECK(said[0].id == CanId::standard(0x123));
  CHECK(said[1].id == CanId::extended(0x123));
}

TEST_CASE("words of a layout that are wrong are named") {
  CHECK(fault_of_words("time 1, identifier 2") ==
        "layout: it does not say where the bytes are: data FIRST..LAST hex, or data COLUMN hex");
  CHECK(fault_of_words("identifier 2, data 3").find("where the time is") != std::string::npos);
  CHECK(fault_of_words("time 1, data 3").find("where the identifier is") != std::string::npos);
  CHECK(fault_of_words("tme 1, identifier 2, data 3").find("did you mean \"time\"?") !=
        std::string::npos);
  CHECK(fault_of_words("time 1 h, identifier 2, data 3") ==
        "layout: expected s, ms, us, ns or date, found \"time 1 h\"");
  CHECK(fault_of_words("time 0, identifier 2, data 3").find("1 to 256") != std::string::npos);
  CHECK(fault_of_words("time 1, identifier 2 octal, data 3").find("hex or decimal") !=
        std::string::npos);
  CHECK(fault_of_words("time 1, identifier 2, data 2..9").find("not used yet") !=
        std::string::npos);
  CHECK(fault_of_words("time 4, identifier 2, data 3..9").find("the time and something else") !=
        std::string::npos);
  CHECK(fault_of_words("separator comma, decimal comma, time 1, identifier 2, data 3")
            .find("a comma cannot be both") != std::string::npos);
  CHECK(fault_of_words("separator colon, time 1, identifier 2, data 3").find("semicolon") !=
        std::string::npos);
  CHECK(fault_of_words("time 1, identifier 2, data 9..3").find("the first before the last") !=
        std::string::npos);
}

TEST_CASE("our own heading, if with a slip in it, is not guessed at") {
  const ScratchFolder folder;
  put(folder / "f.csv", "time_s,bus,identifer,extended,payload\n1,0,1A4,0,AA\n");
  CHECK(has_own_heading(folder / "f.csv"));
  put(folder / "f.csv", joined);
  CHECK_FALSE(has_own_heading(folder / "f.csv"));
}

TEST_CASE("a text that is no table, and one without identifiers, are refused with what to say") {
  const ScratchFolder folder;
  const auto fault = [&](const std::string& text) {
    put(folder / "f.csv", text);
    const auto guess = guess_frames_layout(folder / "f.csv");
    return guess ? "guessed" : guess.error().message;
  };
  CHECK(fault("Dear reader,\nthis is a letter.\n").find("no table that is understood") !=
        std::string::npos);
  CHECK(fault("a;b\n1.5;2.25\n2.5;2.75\n").find("--frames-layout") != std::string::npos);
}

}  // namespace foundling
