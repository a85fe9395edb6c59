// Which cyclic redundancy checks fit the frames, judged on differences of frames: start value,
// final value and hidden constants drop out there, and what remains is the polynomial, the
// direction, and which bytes take part.
#pragma once

#include <vector>

#include "decoder/analysis/checksum_samples.h"
#include "decoder/analysis/crc_register.h"

namespace foundling {

struct CrcModel {
  std::uint32_t polynomial = 0;
  bool reflected = false;
  int from = 0;  // bytes from..to are fed, less the checksum's own
  int to = 0;
  int trailing = 0;          // hidden bytes fed after them
  bool own_as_zero = false;  // the checksum's own bytes are fed as zero instead of left out
};

// The register after the bytes of one row, without the trailing ones.
[[nodiscard]] std::uint32_t feed(const CrcRegister& crc, std::uint32_t start, const CrcModel& model,
                                 const ChecksumPlace& place, const Payload& row);

// Models that fit nearly all differences and have met enough independent ones not to fit by chance.
[[nodiscard]] std::vector<CrcModel> fit_crc(const ChecksumSamples& samples,
                                            const ChecksumPlace& place);

}  // namespace foundling
