// Recomputed checksums against published figures.
#include "decoder/decode/checksum_formula.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <boost/crc.hpp>
#include <optional>
#include <string>

#include "schemas/signals/checksum_words.h"

namespace foundling {
namespace {

std::vector<std::uint8_t> digits_and(std::initializer_list<int> checksum) {
  std::vector<std::uint8_t> bytes;
  for (const char c : std::string("123456789")) bytes.push_back(static_cast<std::uint8_t>(c));
  for (const int byte : checksum) bytes.push_back(static_cast<std::uint8_t>(byte));
  return bytes;
}

Checksum crc(const char* kind, const char* span, const char* polynomial, bool reflected) {
  Checksum sum;
  sum.kind = kind;
  sum.span = *parse_span(span);
  sum.polynomial = polynomial;
  sum.reflected = reflected;
  sum.bytes = CodeRange{0, 8};
  return sum;
}

}  // namespace

TEST_CASE("published CRCs that start and end with zero leave no remainder over 123456789") {
  // Check values of CRC-8/SMBUS, CRC-16/XMODEM, CRC-16/ARC and CRC-32/XFER in the Catalogue of
  // parametrised CRC algorithms (G. Cook), from memory; the first three are also in the systems'
  // own papers (SMBus, ZMODEM, ARC).
  struct Published {
    Checksum sum;
    std::vector<std::uint8_t> frame;
  };
  const Published all[] = {
      {crc("crc8", "9.7..9.0", "07", false), digits_and({0xF4})},
      {crc("crc16", "9.7..10.0", "1021", false), digits_and({0x31, 0xC3})},
      {crc("crc16", "10.7..9.0", "8005", true), digits_and({0x3D, 0xBB})},
      {crc("crc32", "9.7..12.0", "000000AF", false), digits_and({0xBD, 0x0B, 0xE3, 0x38})},
  };
  for (const Published& one : all) {
    CAPTURE(one.sum.kind);
    const auto readings = ChecksumFormula::readings_of(one.sum, {});
    REQUIRE(readings.size() == 1);
    CHECK(readings.front().remainder(one.frame) == 0);
    auto damaged = one.frame;
    damaged[3] ^= 1U;
    CHECK(readings.front().remainder(damaged) != 0);
  }
}

TEST_CASE("a start value, a final value and the identifier only move a CRC's remainder") {
  // CRC-8/SAE-J1850 and CRC-32/AUTOSAR, by Boost.CRC, over two payloads.
  using J1850 = boost::crc_optimal<8, 0x1D, 0xFF, 0xFF, false, false>;
  using Autosar32 = boost::crc_optimal<32, 0xF4ACFB13, 0xFFFFFFFF, 0xFFFFFFFF, true, true>;
  const auto eight = ChecksumFormula::readings_of(crc("crc8", "9.7..9.0", "1D", false), {}).front();
  const auto wide =
      ChecksumFormula::readings_of(crc("crc32", "12.7..9.0", "F4ACFB13", true), {}).front();
  std::optional<std::uint32_t> eight_before;
  std::optional<std::uint32_t> wide_before;
  for (int n = 0; n < 20; ++n) {
    auto payload = digits_and({0, 0, 0, 0});
    for (std::size_t b = 0; b < 9; ++b) payload[b] ^= static_cast<std::uint8_t>(n * (37 + n) + n);
    J1850 j1850;
    j1850.process_bytes(payload.data(), 9);
    Autosar32 autosar;
    autosar.process_bytes(payload.data(), 9);
    auto other = payload;
    insert(*parse_span("9.7..9.0"), j1850.checksum(), other);
    insert(*parse_span("12.7..9.0"), autosar.checksum(), payload);
    if (n > 0) {
      CHECK(eight.remainder(other) == eight_before);
      CHECK(wide.remainder(payload) == wide_before);
    }
    eight_before = eight.remainder(other);
    wide_before = wide.remainder(payload);
  }
}

TEST_CASE("a sum that ends with an exclusive-or leaves one remainder where the map says which") {
  Checksum turned = crc("sum8", "9.7..9.0", "", false);
  turned.final_xor = 0x5A;
  const auto said = ChecksumFormula::readings_of(turned, {}).front();
  turned.final_xor.reset();
  const auto not_said = ChecksumFormula::readings_of(turned, {}).front();
  int others = 0;
  for (int n = 0; n < 20; ++n) {
    auto payload = digits_and({0});
    unsigned sum = 17;  // a start value, which is learnt
    for (std::size_t b = 0; b < 9; ++b) {
      payload[b] ^= static_cast<std::uint8_t>(n * (37 + n) + n);
      sum += payload[b];
    }
    payload[9] = static_cast<std::uint8_t>(sum ^ 0x5AU);
    CHECK(said.remainder(payload) == 17);
    others += not_said.remainder(payload) != 17 ? 1 : 0;
  }
  CHECK(others > 10);
}

TEST_CASE("a payload too short for its checksum has no remainder, an unknown kind no formula") {
  const auto sum = crc("crc8", "9.7..9.0", "07", false);
  const std::vector<std::uint8_t> eight(8, 0);
  CHECK_FALSE(ChecksumFormula::readings_of(sum, {}).front().remainder(eight).has_value());
  CHECK(ChecksumFormula::readings_of(crc("fletcher", "7.7..7.0", "", false), {}).empty());
  CHECK(ChecksumFormula::readings_of(crc("crc8", "7.7..7.0", "", false), {}).empty());
  CHECK(ChecksumFormula::readings_of(crc("crc16", "7.7..7.0", "1021", false), {}).empty());
  CHECK(ChecksumFormula::readings_of(crc("crc8", "7.7..7.0", "11D", false), {}).empty());
  CHECK(ChecksumFormula::readings_of(crc("crc8x", "7.7..7.0", "1D", false), {}).empty());
}

TEST_CASE("every usual kind of checksum has a formula, and needs no warning") {
  for (const std::string& word : usual_checksums()) {
    CAPTURE(word);
    const int width = std::max(checksum_kind(word)->width, 3);
    Checksum sum = crc(word.c_str(), "7.7..7.0", "7", false);
    sum.span = *Span::from_lsb({7, 0}, width, ByteOrder::little);
    CHECK(unchecked_reason(sum) == "");
    CHECK_FALSE(ChecksumFormula::readings_of(sum, {}).empty());
  }
}

}  // namespace foundling
