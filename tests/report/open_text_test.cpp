// What a search leaves open, in words.
#include "decoder/report/open_text.h"

#include <doctest/doctest.h>

#include <sstream>

#include "decoder/report/proposals_report.h"
#include "schemas/values/utf8.h"

namespace foundling::test {
namespace {

UnfitReading slip(Slip kind, double value, double expected) {
  UnfitReading reading;
  reading.reading = 97;
  reading.channel = "cell_01";
  reading.unit = "V";
  reading.t_ns = 48'200'000'000;
  reading.value = value;
  reading.expected = expected;
  reading.kind = kind;
  return reading;
}

UnfitReading state_slip() {
  UnfitReading reading = slip(Slip::previous, 0, 0);
  reading.channel = "key_switch";
  reading.unit = "state";
  reading.state = "off";
  reading.expected_state = "on, held";
  return reading;
}

Proposal strong() {
  Proposal p;
  p.channel = "cell_01";
  p.unit = "V";
  p.place = {0, CanId::standard(0x1B0), {}, *parse_span("2.7..1.0")};
  p.scale = 0.001;
  p.verdict = Verdict::strong;
  return p;
}

Correlation with_slips() {
  Correlation found;
  found.proposals = {strong()};
  found.unfit_readings = {slip(Slip::factor_10, 34.56, 3.4561)};
  found.source = SearchedSession{"tractor-1.capture", 1, 10, 20};
  return found;
}

}  // namespace

TEST_CASE("a reading that does not fit is named with what seems to have happened") {
  const std::string start = "reading 97, cell_01 = ";
  const std::string at = " at 0:48.2: ";
  const auto words = [](Slip kind, double value, double expected) {
    return unfit_words(slip(kind, value, expected));
  };
  CHECK(words(Slip::factor_10, 34.56, 3.45612) ==
        start + "34.56 V" + at + "ten times what the board says (3.456 V)");
  CHECK(words(Slip::factor_10, 0.03456, 3.45612) ==
        start + "0.03456 V" + at + "a hundredth of what the board says (3.45612 V)");
  CHECK(words(Slip::sign, -12.5, 12.48) ==
        start + "-12.5 V" + at + "the other sign of what the board says (12.48 V)");
  CHECK(words(Slip::digits, 3.465, 3.45612) ==
        start + "3.465 V" + at +
            "digits that changed places or were misread; the board says "
            "3.456 V");
  CHECK(words(Slip::previous, 3.1, 3.45612) ==
        start + "3.1 V" + at + "the value before, written down once more; the board says 3.456 V");
  CHECK(words(Slip::neighbour, 3.1, 3.45612) ==
        start + "3.1 V" + at + "the value of another channel; the board says 3.456 V");
  CHECK(words(Slip::unfit, 3.1, 3.45612) ==
        start + "3.1 V" + at + "does not fit; the board says 3.456 V");
  CHECK(unfit_words(state_slip()) ==
        "reading 97, key_switch = off" + at +
            "the value before, written down once more; the board says on, held");
}

TEST_CASE("moments count hours only where there are some, and tenths round up into seconds") {
  CHECK(moment_text(0) == "0:00.0");
  CHECK(moment_text(59'960'000'000) == "1:00.0");
  CHECK(moment_text(-1'500'000'000) == "-0:01.5");
  CHECK(moment_text(3'723'400'000'000) == "1:02:03.4");
}

TEST_CASE("of a decimal point or a sign the line to paste keeps the digits that were written") {
  const ReadingsOf readings{"a.capture", 1};
  const auto line = [&](Slip kind, double value, double expected) {
    return correction_line(slip(kind, value, expected), readings);
  };
  const std::string start = "foundling stimulus a.capture correct 97 ";
  CHECK(line(Slip::factor_10, 34.56, 3.4569) == start + "3.456V --session 1");
  CHECK(line(Slip::factor_10, 0.3, -3) == start + "3V --session 1");
  CHECK(line(Slip::factor_10, -0.3, -299) == start + "-300V --session 1");
  CHECK(line(Slip::sign, 12.503, -12.48) == start + "-12.503V --session 1");
  CHECK(line(Slip::digits, 3.465, 3.45612) == start + "3.456V --session 1");
  CHECK(line(Slip::unfit, 3, 3.45612) == start + "3.456V --session 1");
  CHECK(line(Slip::unfit, 51.3247, 49.123456) == start + "49.1235V --session 1");
  CHECK(line(Slip::unfit, 51.3247, 0) == start + "0V --session 1");
}

TEST_CASE("names and words go into the line to paste as a shell takes them for one word") {
  const ReadingsOf blank{"my tractor's.capture", {}};
  CHECK(correction_line(state_slip(), blank) ==
        "foundling stimulus 'my tractor'\\''s.capture' correct 97 'on, held'");
  CHECK(correction_line(state_slip(), {}) == "foundling stimulus CAPTURE correct 97 'on, held'");
}

TEST_CASE("the line to paste is in the unit that the text speaks of, under the name as typed") {
  const Correlation found = with_slips();
  CHECK(proposals_text(found, "bench/t.capture")
            .find("\n      foundling stimulus bench/t.capture correct 97 3.456V --session 1\n") !=
        std::string::npos);
  CHECK(proposals_text(found).find("stimulus tractor-1.capture correct") != std::string::npos);
}

TEST_CASE("a proposal that rests on left-out readings says so under its row") {
  Correlation found = with_slips();
  CHECK(
      proposals_text(found).find("\n    cell_01 holds without reading 97, which does not fit (see "
                                 "below)\n") != std::string::npos);
  for (int i = 0; i < 7; ++i) {
    found.unfit_readings.push_back(found.unfit_readings.front());
    found.unfit_readings.back().reading = 100 + i;
  }
  CHECK(left_out_words(found, strong()) ==
        "cell_01 holds without readings 97, 100, 101, 102, 103 and 3 more, which do not fit");
  found.unfit_readings = {state_slip()};
  CHECK(left_out_words(found, strong()).empty());
}

TEST_CASE("every channel without a strong answer has its sentence, after the table") {
  Correlation found = with_slips();
  found.unanswered = {
      {"cell_03", "it moved with cell_04 whenever it moved",
       Unanswered::Nearest{
           {0, CanId::standard(0x1B0), Page{*parse_span("0.7..0.0"), 3}, *parse_span("4.7..3.0")},
           12,
           5},
       "hold cell_04 still and step cell_03"},
      {"oil", "Nothing moved with it.", {}, ""},
      {"water", "Nothing moved with it.", {}, ""}};
  const std::string text = proposals_text(found);
  const auto at = text.find("\nchannels without a strong answer:\n");
  REQUIRE(at != std::string::npos);
  CHECK(at > text.find("cell_01 "));
  CHECK(text.find("\n  cell_03: it moved with cell_04 whenever it moved. Nearest: 1B0 4.7..3.0 on\n"
                  "    page 0.7..0.0 = 3, 5 of 12 levels agree. Hold cell_04 still and step\n"
                  "    cell_03.\n") != std::string::npos);
  CHECK(text.find("\n  oil, water: Nothing moved with it.\n") != std::string::npos);
}

TEST_CASE("sentences keep within 80 columns") {
  Correlation found = with_slips();
  found.proposals.clear();
  std::string reason;
  for (int i = 0; i < 60; ++i) reason += "word" + std::to_string(i) + ' ';
  found.unanswered = {{"oil", reason, {}, reason}};
  std::istringstream lines(unanswered_text(found.unanswered, false) +
                           unfit_text(found, readings_of(found, "")));
  for (std::string line; std::getline(lines, line);) {
    if (line.find("foundling stimulus") != std::string::npos) continue;
    CAPTURE(line);
    CHECK(characters(line) <= 80);
  }
}

TEST_CASE("where nothing is left open nothing is said of it") {
  Correlation found = with_slips();
  found.unfit_readings.clear();
  const std::string text = proposals_text(found);
  CHECK(text.find("without a strong answer") == std::string::npos);
  CHECK(text.find("do not fit") == std::string::npos);
  CHECK(text.find("holds without") == std::string::npos);
}

}  // namespace foundling::test
