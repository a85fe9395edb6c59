// How much of the bus's time its frames take: with no stuff bits at all, and in the worst case.
// R. I. Davis, A. Burns, R. J. Bril, J. J. Lukkien, "Controller Area Network (CAN) schedulability
// analysis: Refuted, revisited and revised", Real-Time Systems 35 (2007) 239-272: a data frame of n
// bytes takes at most g + 8n + 13 + floor((g + 8n - 1) / 4) bits, g = 34 for 11-bit and 54 for
// 29-bit identifiers; the last term is the stuff bits. Classical frames only.
#pragma once

#include <cstdint>
#include <optional>

#include "decoder/analysis/survey.h"

namespace foundling {

struct FrameBits {
  int unstuffed = 0;
  int worst_case = 0;
};

[[nodiscard]] FrameBits frame_bits(bool extended, int data_bytes);

struct BusLoad {  // shares of the bus's time, 0..1
  double least = 0;
  double most = 0;
  bool without_fd = false;  // frames longer than 8 bytes were left out
};

// Nothing without a bit rate or a duration.
[[nodiscard]] std::optional<BusLoad> bus_load(const Survey& survey, std::uint8_t bus,
                                              double duration_s, std::int64_t bit_rate);

}  // namespace foundling
