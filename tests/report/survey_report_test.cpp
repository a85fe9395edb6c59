#include "decoder/report/survey_report.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "schemas/values/payload_id.h"
#include "tests/report/json_schema.h"

namespace foundling::test {
namespace {

using nlohmann::json;

Survey some_survey() {
  MessageSurvey message;
  message.id = CanId::extended(0x18FF50E5);
  message.frames = 1000;
  message.period_s = 0.02;
  message.jitter_s = 0.0003;
  message.length = 8;
  message.constant_bits = {*parse_span("1.7..1.4"), *parse_span("2.0")};
  message.counters = {{*parse_span("6.3..6.0"), 1, 15}};
  ChecksumFinding checksum;
  checksum.span = *parse_span("7.7..7.0");
  checksum.kind = "crc8";
  checksum.polynomial = "1D";
  checksum.initial = 0xFF;
  checksum.last_byte = 6;
  message.checksums = {checksum};
  message.selectors = {{*parse_span("0.7..0.0"), {0, 1, 2, 7}}};
  MessageSurvey once;
  once.bus = 1;
  once.id = CanId::standard(0x051);
  once.frames = 1;
  return {{message, once}};
}

const SurveySource source{"bench.capture", 2, 500'000, 20};

}  // namespace

TEST_CASE("a survey is printed as JSON that keeps to its schema") {
  const json schema = project_schema("survey");
  CHECK(schema_faults(schema, json::parse(survey_json(some_survey(), source))) ==
        std::vector<std::string>{});
  CHECK(schema_faults(schema, json::parse(survey_json({}, {}))) == std::vector<std::string>{});
}

TEST_CASE("the table has a line a message and a line for each thing found in it") {
  const std::string text = survey_text(some_survey(), source);
  CHECK(text.find("bench.capture session 2: 1001 frames of 2 messages in 20 s\n") == 0);
  // 1000 frames of 131 to 160 bits in 20 s of 500 kbit/s: 1.31 % to 1.6 %.
  CHECK(text.find("bus 0: load 1.31 % without stuff bits, at most 1.6 %") != std::string::npos);
  CHECK(text.find("    selector 0.7..0.0, 4 pages: 0..2 7\n") != std::string::npos);
  CHECK(text.find("    counter 6.3..6.0 modulo 15\n") != std::string::npos);
  CHECK(text.find("    checksum 7.7..7.0 crc8 polynomial 1D over bytes 0..6") != std::string::npos);
  CHECK(text.find("18FF50E5      1000  periodic   20 ms") != std::string::npos);
}

TEST_CASE("what goes on in segments is said in plain words and as JSON that keeps to its schema") {
  Survey found = some_survey();
  found.messages.push_back({});
  found.messages.back().id = payload_id(CanId::standard(0x7EC), {Transport::Kind::segments, 0});
  found.messages.back().frames = 118;
  found.messages.back().selectors = {{*parse_span("0.7..2.0"), {0x620101, 0x620102}}};
  Talk talk;
  SegmentCounts counts;
  counts.single = 40;
  counts.segmented = 78;
  counts.out_of_order = 2;
  talk.carried = {{0, found.messages.back().id, counts}};
  Conversation c;
  c.asks = payload_id(CanId::standard(0x7E4), {Transport::Kind::segments, 0});
  c.replies = found.messages.back().id;
  c.requests = 121;
  c.answered = 118;
  c.refused[0x31] = 3;
  c.period_s = 0.2;
  talk.conversations = {c};
  constexpr std::size_t on_one_line = 200;
  const std::string text = survey_text(found, source, talk, on_one_line);
  CHECK(text.find("1001 frames of 2 messages") != std::string::npos);
  CHECK(text.find("7EC payload") != std::string::npos);
  CHECK(text.find("selector 0.7..2.0, 2 pages: 0x620101..0x620102") != std::string::npos);
  CHECK(text.find("118 payloads whole, 78 of them from several frames; 2 dropped (2 with a segment "
                  "missing)") != std::string::npos);
  CHECK(
      text.find("7E4 asks 7EC for data, 121 times, usually every 200 ms: 118 answered, 3 answered "
                "with 31 (no such data, or out of range)\n") != std::string::npos);
  CHECK(schema_faults(project_schema("survey"), json::parse(survey_json(found, source, talk))) ==
        std::vector<std::string>{});
}

TEST_CASE("a session without a bit rate has no load, and the table says why") {
  const std::string text = survey_text(some_survey(), {"a.capture", 1, 0, 20});
  CHECK(text.find("bus 0: load unknown, the session does not say the bit rate") !=
        std::string::npos);
}

}  // namespace foundling::test
