// The checks in the board's frames against published values and a general library.
#include "tools/board/checksums.h"

#include <doctest/doctest.h>

#include <boost/crc.hpp>
#include <cstdint>
#include <string_view>
#include <vector>

#include "tools/board/noise.h"

namespace foundling::board {
namespace {

using Bytes = std::vector<std::uint8_t>;

Bytes digits() {
  constexpr std::string_view text = "123456789";
  return {text.begin(), text.end()};
}

}  // namespace

TEST_CASE("the CRC of 123456789 is 4B, the check value of SAE J1850") {
  // SAE J1850; also AUTOSAR "Specification of CRC Routines" (R22-11) and the catalogue of
  // parametrised CRC algorithms.
  CHECK(crc8_j1850(digits()) == 0x4B);
}

TEST_CASE("the CRC gives the sample values of AUTOSAR") {
  // AUTOSAR "Specification of CRC Routines", section 7.2, column CRC8.
  const std::vector<std::pair<Bytes, int>> rows{
      {{0x00, 0x00, 0x00, 0x00}, 0x59},
      {{0xF2, 0x01, 0x83}, 0x37},
      {{0x0F, 0xAA, 0x00, 0x55}, 0x79},
      {{0x00, 0xFF, 0x55, 0x11}, 0xB8},
      {{0x33, 0x22, 0x55, 0xAA, 0xBB, 0xCC, 0xDD, 0xEE, 0xFF}, 0xCB},
      {{0x92, 0x6B, 0x55}, 0x8C},
      {{0xFF, 0xFF, 0xFF, 0xFF}, 0x74},
  };
  for (const auto& row : rows) CHECK(crc8_j1850(row.first) == row.second);
}

TEST_CASE("the CRC agrees with Boost.CRC on random payloads") {
  constexpr std::uint64_t seed = 11;
  CAPTURE(seed);
  Noise noise(seed);
  for (int round = 0; round < 2000; ++round) {
    Bytes bytes(noise.below(65));
    for (std::uint8_t& byte : bytes) byte = static_cast<std::uint8_t>(noise.below(256));
    boost::crc_optimal<8, 0x1D, 0xFF, 0xFF, false, false> crc;
    crc.process_bytes(bytes.data(), bytes.size());
    CHECK(crc8_j1850(bytes) == crc.checksum());
  }
}

TEST_CASE("the exclusive-or and the sum of 123456789 are 31 and DD") {
  CHECK(xor8(digits()) == 0x31);  // arithmetic
  CHECK(sum8(digits()) == 0xDD);
}

}  // namespace foundling::board
