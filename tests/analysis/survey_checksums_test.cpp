#include <doctest/doctest.h>

#include <boost/crc.hpp>
#include <cstring>

#include "tests/analysis/survey_board.h"

namespace foundling::test {
namespace {

struct Row {
  const char* name;
  CrcParameters crc;
  std::uint64_t check;
};

// Check = the value over the nine ASCII bytes "123456789". AUTOSAR "Specification of CRC Routines"
// (document 016), SAE J1850, and Greg Cook's "Catalogue of parametrised CRC algorithms".
constexpr Row published[] = {
    {"CRC-8/SAE-J1850", {8, 0x1D, 0xFF, false, 0xFF}, 0x4B},
    {"CRC-8/GSM-A", {8, 0x1D, 0x00, false, 0x00}, 0x37},
    {"CRC-8/HITAG", {8, 0x1D, 0xFF, false, 0x00}, 0xB4},
    {"CRC-8/AUTOSAR", {8, 0x2F, 0xFF, false, 0xFF}, 0xDF},
    {"CRC-8/OPENSAFETY", {8, 0x2F, 0x00, false, 0x00}, 0x3E},
    {"CRC-8/SMBUS", {8, 0x07, 0x00, false, 0x00}, 0xF4},
    {"CRC-8/I-432-1", {8, 0x07, 0x00, false, 0x55}, 0xA1},
    {"CRC-8/ROHC", {8, 0x07, 0xFF, true, 0x00}, 0xD0},
    {"CRC-8/MAXIM-DOW", {8, 0x31, 0x00, true, 0x00}, 0xA1},
    {"CRC-8/NRSC-5", {8, 0x31, 0xFF, false, 0x00}, 0xF7},
    {"CRC-16/IBM-3740", {16, 0x1021, 0xFFFF, false, 0x0000}, 0x29B1},
    {"CRC-16/XMODEM", {16, 0x1021, 0x0000, false, 0x0000}, 0x31C3},
    {"CRC-16/SPI-FUJITSU", {16, 0x1021, 0x1D0F, false, 0x0000}, 0xE5CC},
    {"CRC-16/GENIBUS", {16, 0x1021, 0xFFFF, false, 0xFFFF}, 0xD64E},
    {"CRC-16/GSM", {16, 0x1021, 0x0000, false, 0xFFFF}, 0xCE3C},
    {"CRC-16/KERMIT", {16, 0x1021, 0x0000, true, 0x0000}, 0x2189},
    {"CRC-16/IBM-SDLC", {16, 0x1021, 0xFFFF, true, 0xFFFF}, 0x906E},
    {"CRC-16/ARC", {16, 0x8005, 0x0000, true, 0x0000}, 0xBB3D},
    {"CRC-16/MODBUS", {16, 0x8005, 0xFFFF, true, 0x0000}, 0x4B37},
    {"CRC-32/ISO-HDLC", {32, 0x04C11DB7, 0xFFFFFFFF, true, 0xFFFFFFFF}, 0xCBF43926},
    {"CRC-32/AUTOSAR", {32, 0xF4ACFB13, 0xFFFFFFFF, true, 0xFFFFFFFF}, 0x1697D06A},
    {"CRC-32/ISCSI", {32, 0x1EDC6F41, 0xFFFFFFFF, true, 0xFFFFFFFF}, 0xE3069283},
};

std::string hex(std::uint64_t value, int width) {
  std::string text;
  for (int shift = width - 4; shift >= 0; shift -= 4)
    text += "0123456789ABCDEF"[(value >> shift) & 15];
  return text;
}

// Data with a counter and two slow signals, and what `sum` returns for the other bytes put at
// `place`.
MessageSeries protected_message(
    CanId id, int length, const Span& place, std::uint64_t seed,
    const std::function<std::uint64_t(std::span<const std::uint8_t> others, Bytes& all)>& sum) {
  Decoys decoys(seed);
  return make_message(id, length, 2000, [&, place, length](std::size_t i, Bytes& bytes) {
    for (std::size_t b = 0; b + 1 < static_cast<std::size_t>(length); b += 2) {
      decoys.walk(bytes, b, 1 + static_cast<int>(b) * 3);
    }
    bytes[static_cast<std::size_t>(length) - 2] = static_cast<std::uint8_t>(i % 15);
    std::vector<std::uint8_t> others;
    for (std::uint8_t b = 0; b < length; ++b) {
      if (b < std::min(place.msb.byte, place.lsb.byte) || b > place.last_byte()) {
        others.push_back(bytes[b]);
      }
    }
    insert(place, sum(others, bytes), bytes);
  });
}

const ChecksumFinding* at(const MessageSurvey& found, const Span& span) {
  for (const auto& c : found.checksums) {
    if (c.span == span) return &c;
  }
  return nullptr;
}

}  // namespace

TEST_CASE("the bitwise routine of these tests gives the published check values") {
  const std::array<std::uint8_t, 9> text{'1', '2', '3', '4', '5', '6', '7', '8', '9'};
  for (const Row& row : published) {
    CAPTURE(row.name);
    CHECK(bitwise_crc(row.crc, text) == row.check);
  }
  // Boost.CRC as a second opinion on one of each width.
  boost::crc_optimal<8, 0x2F, 0xFF, 0xFF, false, false> eight;
  eight.process_bytes(text.data(), text.size());
  CHECK(eight.checksum() == bitwise_crc(published[3].crc, text));
  boost::crc_optimal<16, 0x8005, 0xFFFF, 0, true, true> sixteen;
  sixteen.process_bytes(text.data(), text.size());
  CHECK(sixteen.checksum() == bitwise_crc(published[18].crc, text));
  boost::crc_optimal<32, 0xF4ACFB13, 0xFFFFFFFF, 0xFFFFFFFF, true, true> wide;
  wide.process_bytes(text.data(), text.size());
  CHECK(wide.checksum() == bitwise_crc(published[20].crc, text));
}

TEST_CASE("every published check is found, at its place, and named") {
  for (const Row& row : published) {
    const std::uint8_t bytes = static_cast<std::uint8_t>(row.crc.width / 8);
    const std::uint8_t last = static_cast<std::uint8_t>(bytes - 1);
    const std::vector<Span> places =
        bytes == 1
            ? std::vector<Span>{span_of("0.7..0.0"), span_of("7.7..7.0"), span_of("3.7..3.0")}
            : std::vector<Span>{{{0, 7}, {last, 0}}, {{last, 7}, {0, 0}}};
    for (const Span& place : places) {
      CAPTURE(row.name);
      CAPTURE(to_string(place));
      const MessageSurvey found =
          survey_message(protected_message(CanId::standard(0x1C0), bytes == 4 ? 16 : 8, place, 5,
                                           [&](std::span<const std::uint8_t> others, Bytes&) {
                                             return bitwise_crc(row.crc, others);
                                           }));
      const ChecksumFinding* c = at(found, place);
      REQUIRE(c != nullptr);
      CHECK(found.checksums.size() == 1);
      CHECK(c->kind == "crc" + std::to_string(row.crc.width));
      CHECK(c->polynomial == hex(row.crc.polynomial, row.crc.width));
      CHECK(c->name == row.name);
      CHECK(c->reflected == row.crc.reflected);
      CHECK(c->initial == row.crc.initial);
      CHECK(c->final_xor == row.crc.final_xor);
      CHECK(found.selectors.empty());
      CHECK(found.counters.size() == 1);
    }
  }
}

}  // namespace foundling::test
