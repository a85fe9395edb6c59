// Checksums as standards print them, in whole messages with the identifier or a hidden data ID.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "tests/analysis/survey_board.h"

namespace foundling::test {
namespace {

using ByteList = std::vector<std::uint8_t>;

constexpr CrcParameters profile1{8, 0x1D, 0x00, false, 0x00};  // no start value, no final XOR
constexpr CrcParameters profile22{8, 0x2F, 0xFF, false, 0xFF};
constexpr CrcParameters ccitt{16, 0x1021, 0xFFFF, false, 0x0000};

const ChecksumFinding& only_checksum(const MessageSurvey& found) {
  REQUIRE(found.checksums.size() == 1);
  return found.checksums[0];
}

// Three slow 16-bit values in the bytes from `first` on, then what `protect` makes of them.
MessageSeries guarded(CanId id, std::size_t first,
                      const std::function<void(std::size_t i, Bytes& bytes)>& protect) {
  Decoys decoys(31);
  return make_message(id, 8, 3000, [&](std::size_t i, Bytes& bytes) {
    for (std::size_t b = first; b + 1 < 8; b += 2) decoys.walk(bytes, b, 2 + static_cast<int>(b));
    protect(i, bytes);
  });
}

void put_profile1(Bytes& bytes, std::size_t counter, const ByteList& id_bytes,
                  std::size_t high_nibble) {
  bytes[1] = static_cast<std::uint8_t>(high_nibble << 4 | counter);
  ByteList fed = id_bytes;
  fed.insert(fed.end(), bytes.begin() + 1, bytes.begin() + 8);
  bytes[0] = static_cast<std::uint8_t>(bitwise_crc(profile1, fed));
}

std::uint8_t first_byte_of_profile1(std::size_t counter, const ByteList& id, std::size_t nibble) {
  Bytes zero{};
  put_profile1(zero, counter, id, nibble);
  return zero[0];
}

struct Mode {
  const char* name;
  ByteList even, odd;  // fed before the data, by counter
  std::size_t nibble;
  std::uint8_t check0, check1;  // byte 0 of the printed examples, data bytes all zero
};

// AUTOSAR "E2E Protocol Specification" (PRS document 849), section 6.3.5: data ID 0123.
const Mode modes[] = {
    {"both", {0x23, 0x01}, {0x23, 0x01}, 0, 0xCC, 0x91},
    {"alternating", {0x23}, {0x01}, 0, 0xCE, 0x02},
    {"low", {0x23}, {0x23}, 0, 0xCE, 0x93},
    {"nibble", {0x23, 0x00}, {0x23, 0x00}, 1, 0x2A, 0x77},
};

}  // namespace

TEST_CASE("end-to-end profile 1 is found in each of its data ID modes, with its counter") {
  for (const Mode& mode : modes) {
    CAPTURE(mode.name);
    CHECK(first_byte_of_profile1(0, mode.even, mode.nibble) == mode.check0);
    CHECK(first_byte_of_profile1(1, mode.odd, mode.nibble) == mode.check1);
    const MessageSurvey found =
        survey_message(guarded(CanId::standard(0x1A4), 2, [&](std::size_t i, Bytes& bytes) {
          const std::size_t counter = i % 15;
          put_profile1(bytes, counter, counter % 2 == 0 ? mode.even : mode.odd, mode.nibble);
        }));
    const ChecksumFinding& c = only_checksum(found);
    CHECK(to_string(c.span) == "0.7..0.0");
    CHECK(c.kind == "crc8");
    CHECK(c.polynomial == "1D");
    REQUIRE(found.counters.size() == 1);
    CHECK(to_string(found.counters[0].span) == "1.3..1.0");
    CHECK(found.counters[0].modulus == 15);
  }
}

// Profile 22 of the same specification: one data ID of sixteen, 01 to 10 hex, by the counter. The
// check bytes for data all zero were read in an independent implementation's public test.
TEST_CASE("end-to-end profile 22 is found though the counter picks its hidden data ID") {
  constexpr std::array<std::uint8_t, 16> printed{0x0E, 0x1B, 0x98, 0x31, 0x0D, 0x18, 0x9B, 0x65,
                                                 0x08, 0x1D, 0x9E, 0x37, 0x0B, 0x1E, 0x9D, 0xCD};
  const auto put = [](std::size_t counter, Bytes& bytes) {
    bytes[1] = static_cast<std::uint8_t>(counter);
    ByteList fed(bytes.begin() + 1, bytes.begin() + 8);
    fed.push_back(static_cast<std::uint8_t>(counter + 1));
    bytes[0] = static_cast<std::uint8_t>(bitwise_crc(profile22, fed));
  };
  for (std::size_t counter = 0; counter < 16; ++counter) {
    Bytes zero{};
    put(counter, zero);
    CHECK(zero[0] == printed[counter]);
  }
  const MessageSurvey found = survey_message(
      guarded(CanId::standard(0x2A0), 2, [&](std::size_t i, Bytes& bytes) { put(i % 16, bytes); }));
  const ChecksumFinding& c = only_checksum(found);
  CHECK(to_string(c.span) == "0.7..0.0");
  CHECK(c.kind == "crc8");
  CHECK(c.polynomial == "2F");
}

// Profile 5, tables 6.47 and 6.48 (data ID 1234, low byte of the check first), and profile 6 as
// read in a public implementation's test (high byte first, length 00 08 sent in bytes 2 and 3).
TEST_CASE("end-to-end profiles 5 and 6 are found, low byte first and high byte first") {
  const auto put5 = [](std::size_t counter, Bytes& bytes) {
    bytes[2] = static_cast<std::uint8_t>(counter);
    ByteList fed(bytes.begin() + 2, bytes.begin() + 8);
    fed.insert(fed.end(), {0x34, 0x12});
    insert(span_of("1.7..0.0"), bitwise_crc(ccitt, fed), bytes);
  };
  const auto put6 = [](std::size_t counter, Bytes& bytes) {
    bytes[2] = 0x00;
    bytes[3] = 0x08;
    bytes[4] = static_cast<std::uint8_t>(counter);
    ByteList fed(bytes.begin() + 2, bytes.begin() + 8);
    fed.insert(fed.end(), {0x12, 0x34});
    insert(span_of("0.7..1.0"), bitwise_crc(ccitt, fed), bytes);
  };
  const auto begins = [](const auto& put, std::size_t counter) {
    Bytes zero{};
    put(counter, zero);
    return zero[0] << 8 | zero[1];
  };
  CHECK(begins(put5, 0) == 0x1CCA);
  CHECK(begins(put5, 1) == 0xCF8D);
  CHECK(begins(put6, 0) == 0xB155);
  CHECK(begins(put6, 1) == 0xF4F5);
  const MessageSurvey five = survey_message(guarded(
      CanId::standard(0x100), 3, [&](std::size_t i, Bytes& bytes) { put5(i % 256, bytes); }));
  CHECK(to_string(only_checksum(five).span) == "1.7..0.0");
  CHECK(five.checksums[0].kind == "crc16");
  CHECK(five.checksums[0].polynomial == "1021");
  const MessageSurvey six = survey_message(guarded(
      CanId::standard(0x100), 5, [&](std::size_t i, Bytes& bytes) { put6(i % 256, bytes); }));
  CHECK(to_string(only_checksum(six).span) == "0.7..1.0");
  CHECK(six.checksums[0].kind == "crc16");
  CHECK(six.checksums[0].polynomial == "1021");
}

namespace {

// SAE J1939-71, SPN 4207 over bytes 1 to 7, the counter and the four bytes of the identifier; the
// four-bit form is that of SPN 3188.
unsigned j1939_sum(CanId id, const Bytes& bytes, unsigned counter) {
  unsigned sum = counter & 0x0FU;
  for (std::size_t b = 0; b < 7; ++b) sum += bytes[b];
  for (int shift = 0; shift < 32; shift += 8) sum += (id.number() >> shift) & 0xFFU;
  return sum;
}
unsigned three_bits(unsigned sum) { return (((sum >> 6) & 3U) + (sum >> 3) + sum) & 7U; }
unsigned four_bits(unsigned sum) { return ((sum >> 4) + sum) & 0x0FU; }

struct Torque {
  std::uint32_t id;
  std::array<std::uint8_t, 7> data;
  unsigned counter, sum, three, four;
};

// Worked out by hand from the standard's formula.
constexpr Torque torques[] = {
    {0x0C000003, {0x01, 0x00, 0x19, 0x7D, 0xFF, 0xFF, 0xFF}, 0, 931, 1, 0xD},
    {0x0C000003, {0x01, 0x00, 0x19, 0x7D, 0xFF, 0xFF, 0xFF}, 7, 938, 1, 0x4},
    {0x0C000011, {0x09, 0xE0, 0x2E, 0x7D, 0x00, 0xFF, 0xFF}, 3, 946, 2, 0xD},
    {0x0C000027, {0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF}, 15, 1851, 2, 0xE},
};

}  // namespace

TEST_CASE("the J1939 message checksum is found in its three-bit and its four-bit form") {
  for (const Torque& row : torques) {
    Bytes bytes{};
    std::copy(row.data.begin(), row.data.end(), bytes.begin());
    const unsigned sum = j1939_sum(CanId::extended(row.id), bytes, row.counter);
    CHECK(sum == row.sum);
    CHECK(three_bits(sum) == row.three);
    CHECK(four_bits(sum) == row.four);
  }
  const CanId id = CanId::extended(0x0C000003);
  for (const bool wide : {false, true}) {
    CAPTURE(wide);
    const MessageSurvey found = survey_message(guarded(id, 0, [&](std::size_t i, Bytes& bytes) {
      const auto counter = static_cast<unsigned>(i % 8);
      bytes[6] = 0xFF;
      const unsigned sum = j1939_sum(id, bytes, counter);
      bytes[7] =
          static_cast<std::uint8_t>((wide ? four_bits(sum) : three_bits(sum)) << 4 | counter);
    }));
    const ChecksumFinding& c = only_checksum(found);
    CHECK(to_string(c.span) == "7.7..7.4");
    CHECK(c.kind == "j1939");
    CHECK(c.polynomial.empty());
    CHECK(c.includes_identifier);
  }
}

TEST_CASE("the J1939 message checksum is found where little else moves") {
  const CanId id = CanId::extended(0x18FE2FF3);
  const MessageSurvey found = survey_message(make_message(id, 8, 4000, [&](auto i, Bytes& bytes) {
    bytes = {static_cast<std::uint8_t>(i / 1000 % 2 == 0 ? 0x21 : 0x22),
             0x01,
             0xFF,
             0xFF,
             0xFF,
             0xFF,
             0xFF};
    const auto counter = static_cast<unsigned>(i % 8);
    bytes[7] = static_cast<std::uint8_t>(three_bits(j1939_sum(id, bytes, counter)) << 4 | counter);
  }));
  CHECK(only_checksum(found).kind == "j1939");
  CHECK(found.selectors.empty());
  REQUIRE(found.counters.size() == 1);
  CHECK(found.counters[0].modulus == 8);
}

// Sum, its two's complement, and exclusive-or of "123456789" are DD, 23 and 31, worked out by hand.
TEST_CASE("sums and exclusive-ors of bytes are found and told apart") {
  constexpr std::array<std::uint8_t, 9> text{'1', '2', '3', '4', '5', '6', '7', '8', '9'};
  const auto sum = [](auto begin, auto end) {
    unsigned total = 0;
    for (auto b = begin; b != end; ++b) total += *b;
    return static_cast<std::uint8_t>(total);
  };
  const auto exclusive_or = [](auto begin, auto end) {
    std::uint8_t total = 0;
    for (auto b = begin; b != end; ++b) total ^= *b;
    return total;
  };
  CHECK(sum(text.begin(), text.end()) == 0xDD);
  CHECK(static_cast<std::uint8_t>(-sum(text.begin(), text.end())) == 0x23);
  CHECK(exclusive_or(text.begin(), text.end()) == 0x31);
  const auto kind_of = [](const auto& check) {
    const MessageSurvey found =
        survey_message(guarded(CanId::standard(0x3A0), 0, [&](std::size_t, Bytes& bytes) {
          bytes[7] = check(bytes.begin(), bytes.begin() + 7);
        }));
    const ChecksumFinding& c = only_checksum(found);
    CHECK(to_string(c.span) == "7.7..7.0");
    return c.kind;
  };
  CHECK(kind_of(sum) == "sum8");
  CHECK(kind_of([&](auto b, auto e) { return static_cast<std::uint8_t>(-sum(b, e)); }) == "sum8");
  CHECK(kind_of(exclusive_or) == "xor8");
}

namespace {

struct Sample {
  ByteList data;
  std::uint64_t crc8, crc8h2f, crc16, crc16arc, crc32, crc32p4;
};

// AUTOSAR "Specification of CRC Routines" (document 016), section 7.2.
const Sample samples[] = {
    {{0x00, 0x00, 0x00, 0x00}, 0x59, 0x12, 0x84C0, 0x0000, 0x2144DF1C, 0x6FB32240},
    {{0xF2, 0x01, 0x83}, 0x37, 0xC2, 0xD374, 0xC2E1, 0x24AB9D77, 0x4F721A25},
    {{0x0F, 0xAA, 0x00, 0x55}, 0x79, 0xC6, 0x2023, 0x0BE3, 0xB6C9B287, 0x20662DF8},
    {{0x00, 0xFF, 0x55, 0x11}, 0xB8, 0x77, 0xB8F9, 0x6CCF, 0x32A06212, 0x9BD7996E},
    {{0x33, 0x22, 0x55, 0xAA, 0xBB, 0xCC, 0xDD, 0xEE, 0xFF},
     0xCB,
     0x11,
     0xF53F,
     0xAE98,
     0xB0AE863D,
     0xA65A343D},
    {{0x92, 0x6B, 0x55}, 0x8C, 0x33, 0x0745, 0xE24E, 0x9CDEA29B, 0xEE688A78},
    {{0xFF, 0xFF, 0xFF, 0xFF}, 0x74, 0x6C, 0x1D0F, 0x9401, 0xFFFFFFFF, 0xFFFFFFFF},
};

}  // namespace

TEST_CASE("the routine that plants checks in these tests gives AUTOSAR's sample data") {
  for (const Sample& s : samples) {
    CHECK(bitwise_crc({8, 0x1D, 0xFF, false, 0xFF}, s.data) == s.crc8);
    CHECK(bitwise_crc({8, 0x2F, 0xFF, false, 0xFF}, s.data) == s.crc8h2f);
    CHECK(bitwise_crc({16, 0x1021, 0xFFFF, false, 0}, s.data) == s.crc16);
    CHECK(bitwise_crc({16, 0x8005, 0, true, 0}, s.data) == s.crc16arc);
    CHECK(bitwise_crc({32, 0x04C11DB7, 0xFFFFFFFF, true, 0xFFFFFFFF}, s.data) == s.crc32);
    CHECK(bitwise_crc({32, 0xF4ACFB13, 0xFFFFFFFF, true, 0xFFFFFFFF}, s.data) == s.crc32p4);
  }
}

TEST_CASE("a checksum and a counter are found though the board was without power for a while") {
  MessageSeries m = guarded(CanId::standard(0x2F1), 2, [](std::size_t i, Bytes& bytes) {
    put_profile1(bytes, i % 15, {0x23, 0x01}, 0);
  });
  const MessageSurvey before = survey_message(m);
  for (std::size_t i = 1200; i < 1500; ++i) {
    const auto row = m.bytes.begin() + static_cast<std::ptrdiff_t>(i * m.length);
    std::fill(row, row + m.length, i < 1350 ? std::uint8_t{0} : std::uint8_t{0xFF});
  }
  const MessageSurvey after = survey_message(m);
  CHECK(only_checksum(after).polynomial == only_checksum(before).polynomial);
  CHECK(only_checksum(after).span == only_checksum(before).span);
  REQUIRE(after.counters.size() == 1);
  CHECK(after.counters[0].modulus == 15);
  CHECK(after.frames == before.frames);
}

}  // namespace foundling::test
