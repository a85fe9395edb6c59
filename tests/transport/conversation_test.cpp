#include "decoder/transport/conversation.h"

#include <doctest/doctest.h>

#include "decoder/transport/answer_codes.h"
#include "schemas/values/payload_id.h"
#include "tests/transport/segment_writer.h"

namespace foundling::test {
namespace {

MessageSeries payloads(std::uint32_t id, const std::vector<std::pair<std::int64_t, Bytes>>& rows) {
  MessageSeries series;
  series.id = payload_id(CanId::standard(id), {Transport::Kind::segments, 0});
  for (const auto& [t_ms, row] : rows) {
    series.length = std::max(series.length, static_cast<std::uint8_t>(row.size()));
  }
  for (auto [t_ms, row] : rows) {
    series.t_ns.push_back(t_ms * 1'000'000);
    series.lengths.push_back(static_cast<std::uint8_t>(row.size()));
    row.resize(series.length);
    series.bytes.insert(series.bytes.end(), row.begin(), row.end());
  }
  return series;
}

}  // namespace

// ISO 14229-1: a positive answer is the request's service plus 0x40 and its data identifier.
TEST_CASE("an answer names what was asked for, or the service that was refused") {
  const Bytes request{0x22, 0xF1, 0x90};
  CHECK(answers(request, Bytes{0x62, 0xF1, 0x90, 'L'}));
  CHECK_FALSE(answers(request, Bytes{0x62, 0xF1, 0x91, 'L'}));
  CHECK(answers(request, Bytes{0x7F, 0x22, 0x31}));
  CHECK_FALSE(answers(request, Bytes{0x7F, 0x21, 0x31}));
  CHECK_FALSE(answers(Bytes{0x62, 0xF1, 0x90}, Bytes{0xA2, 0xF1, 0x90}));
}

// The example of ReadScalingDataByIdentifier in ISO 14229-1.
TEST_CASE("the published read of scaling data is answered") {
  CHECK(answers(Bytes{0x24, 0xF1, 0x90}, Bytes{0x64, 0xF1, 0x90, 0x6F, 0x62}));
}

TEST_CASE("requests meet their answers, refusals and silences") {
  std::vector<std::pair<std::int64_t, Bytes>> asks;
  std::vector<std::pair<std::int64_t, Bytes>> replies;
  for (std::int64_t i = 0; i < 10; ++i) {
    asks.push_back({i * 100, {0x22, 0x01, static_cast<std::uint8_t>(i % 5)}});
    if (i == 3) continue;
    if (i == 4) {
      replies.push_back({i * 100 + 8, {0x7F, 0x22, 0x31}});
    } else {
      if (i == 7) replies.push_back({i * 100 + 4, {0x7F, 0x22, 0x78}});
      replies.push_back({i * 100 + 9, {0x62, 0x01, static_cast<std::uint8_t>(i % 5), 1, 2}});
    }
  }
  const std::vector<MessageSeries> both{payloads(0x7E4, asks), payloads(0x7EC, replies)};
  const auto found = conversations(both);
  REQUIRE(found.size() == 1);
  CHECK(found[0].asks.number() == 0x7E4);
  CHECK(found[0].requests == 10);
  CHECK(found[0].answered == 8);
  CHECK(found[0].unanswered == 1);
  CHECK(found[0].refused.at(0x31) == 1);
  CHECK(found[0].refused.at(0x78) == 1);
  CHECK(found[0].period_s == doctest::Approx(0.1));
  CHECK(data_selector(both[1]) == parse_span("0.7..2.0"));
}

// Codes of ISO 14229-1, annex A.
TEST_CASE("the code of a refusal is said in words") {
  CHECK(answer_code_words(0x31) == "no such data, or out of range");
  CHECK(answer_code_words(0x33) == "locked: the asker has to prove itself first");
  CHECK(answer_code_words(0xF5) == "a reason of the maker's own");
}

}  // namespace foundling::test
