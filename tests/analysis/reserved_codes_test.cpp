// SAE J1939-71, "transmitted signal ranges": valid signals are 00-FA, FB is a parameter specific
// indicator, FC-FD are reserved, FE is the error indicator, FF is "not available"; of longer fields
// it is the most significant byte. Bytes are little-endian in the frame.
#include <doctest/doctest.h>

#include <vector>

#include "decoder/analysis/reserved.h"

using namespace foundling;

namespace {

MessageSeries message_of(const std::vector<std::uint32_t>& raws, int bytes) {
  MessageSeries m;
  m.id = CanId::extended(0x18FEF700);
  m.length = static_cast<std::uint8_t>(bytes);
  for (const std::uint32_t raw : raws) {
    m.t_ns.push_back(static_cast<std::int64_t>(m.size()) * 100'000'000);
    for (int i = 0; i < bytes; ++i) m.bytes.push_back(static_cast<std::uint8_t>(raw >> (8 * i)));
  }
  return m;
}

std::vector<std::uint64_t> codes(const std::vector<std::uint32_t>& raws, int bytes) {
  const Span span{{static_cast<std::uint8_t>(bytes - 1), 7}, {0, 0}};
  return reserved_codes(message_of(raws, bytes), {0, CanId::extended(0x18FEF700), {}, span},
                        Coding::natural);
}

using Codes = std::vector<std::uint64_t>;

}  // namespace

TEST_CASE("all ones is J1939's 'not available' beside the whole valid range") {
  CHECK(codes({0xFF, 0xFF, 0, 1, 125, 0xFA}, 1) == Codes{0xFF});
  CHECK(codes({0xFFFF, 0xFFFF, 0, 32000, 0xFAFF}, 2) == Codes{0xFFFF});
  CHECK(codes({0xFFFFFFFF, 0xFFFFFFFF, 0, 0x77359400, 0xFAFFFFFF}, 4) == Codes{0xFFFFFFFF});
}

TEST_CASE("all ones is a value where others reach up to it") {
  CHECK(codes({0xFF, 0xFF, 0xFC, 0xFD, 125}, 1).empty());
  CHECK(codes({0xFFFF, 0xFFFF, 0xFFFD, 0xFFFC, 32000}, 2).empty());
}

TEST_CASE("all ones once, or never, is no reserved code") {
  CHECK(codes({0xFF, 0, 1, 125}, 1).empty());
  CHECK(codes({0, 1, 125, 0xFA}, 1).empty());
}

TEST_CASE("in two's complement all ones is minus one") {
  const MessageSeries m = message_of({0xFFFF, 0xFFFF, 0, 1}, 2);
  CHECK(reserved_codes(m, {0, m.id, {}, {{1, 7}, {0, 0}}}, Coding::twos_complement).empty());
}

TEST_CASE(
    "all ones near other values is no value where its neighbour has none in the same frames") {
  // 12 bits of a pressure up to 4090, 12 of a voltage whose FFF is known to stand for none.
  const auto frame = [](std::uint32_t pressure, std::uint32_t volts) {
    return pressure | (volts << 12);
  };
  const auto company = [&](const std::vector<std::uint32_t>& raws) {
    const MessageSeries m = message_of(raws, 3);
    Proposal pressure;
    pressure.place = {0, m.id, {}, {{1, 3}, {0, 0}}};
    Proposal volts;
    volts.place = {0, m.id, {}, {{2, 7}, {1, 4}}};
    volts.reserved = {0xFFF};
    return reserved_in_company(m, pressure, std::vector{pressure, volts});
  };
  const auto none = frame(0xFFF, 0xFFF);
  CHECK(company({none, none, frame(4090, 2400), frame(200, 2500)}) == Codes{0xFFF});
  CHECK(company({none, none, frame(0xFFF, 2400), frame(200, 2500)}).empty());
  CHECK(company({none, frame(4090, 2400), frame(200, 2500)}).empty());
}
