// Words that say the same, which are no checksum; and sums that end with an exclusive-or.
#include <doctest/doctest.h>

#include "tests/analysis/survey_board.h"

namespace foundling::test {
namespace {

const CanId id = CanId::standard(0x2B0);

// The speeds of two wheels of a vehicle that goes straight on, as 16-bit words, beside a third
// value.
MessageSeries equal_words(std::uint64_t seed) {
  Decoys decoys(seed);
  return make_message(id, 6, 2000, [&](std::size_t, Bytes& bytes) {
    decoys.walk(bytes, 0, 40);
    bytes[2] = bytes[0];
    bytes[3] = bytes[1];
    decoys.walk(bytes, 4, 25);
  });
}

}  // namespace

TEST_CASE("two words that always say the same are a copy, and no checksum") {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    const MessageSurvey found = survey_message(equal_words(seed));
    REQUIRE(found.copies.size() == 1);
    CHECK(found.copies[0].first == span_of("0.7..1.0"));
    CHECK(found.copies[0].second == span_of("2.7..3.0"));
    CHECK(found.checksums.empty());
  }
}

TEST_CASE("an exclusive-or over bytes that are no copies stays a checksum") {
  Decoys decoys(3);
  const MessageSurvey found =
      survey_message(make_message(id, 8, 2000, [&](std::size_t, Bytes& bytes) {
        decoys.walk(bytes, 0, 40);
        bytes[2] = bytes[0];
        bytes[3] = bytes[1];
        decoys.walk(bytes, 4, 25);
        bytes[7] = static_cast<std::uint8_t>(bytes[4] ^ bytes[5] ^ 0x5A);
      }));
  CHECK(found.copies.size() == 1);
  REQUIRE(found.checksums.size() == 1);
  CHECK(found.checksums[0].kind == "xor8");  // of which byte, an exclusive-or does not say
}

TEST_CASE("flags that agree and bytes that stand still are no copies") {
  Decoys decoys(4);
  const MessageSurvey found =
      survey_message(make_message(id, 6, 2000, [&](std::size_t i, Bytes& bytes) {
        decoys.walk(bytes, 0, 40);
        bytes[2] = bytes[3] = static_cast<std::uint8_t>(i / 400 % 2);
        bytes[4] = bytes[5] = 0x20;
      }));
  CHECK(found.copies.empty());
}

TEST_CASE("a sum with an exclusive-or at its end is a checksum, and its counter stays a counter") {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    Decoys decoys(seed);
    const MessageSurvey found =
        survey_message(make_message(id, 8, 2000, [&](std::size_t i, Bytes& bytes) {
          decoys.walk(bytes, 0, 40);
          decoys.walk(bytes, 2, 25);
          bytes[6] = static_cast<std::uint8_t>(i % 16);
          unsigned sum = 0;
          for (std::size_t b = 0; b < 7; ++b) sum += bytes[b];
          bytes[7] = static_cast<std::uint8_t>(sum ^ 0x5AU);
        }));
    REQUIRE(found.checksums.size() == 1);
    CHECK(found.checksums[0].span == span_of("7.7..7.0"));
    CHECK(found.checksums[0].kind == "sum8");
    CHECK(found.checksums[0].final_xor == std::uint64_t{0x5A});
    CHECK(found.selectors.empty());
    REQUIRE(found.counters.size() == 1);
    CHECK(found.counters[0].modulus == 16);
  }
}

}  // namespace foundling::test
