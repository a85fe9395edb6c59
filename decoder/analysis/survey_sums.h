// Sums and exclusive-ors over bytes, sums over nibbles, and the J1939 message checksum.
#pragma once

#include <optional>

#include "decoder/analysis/checksum_samples.h"
#include "decoder/analysis/survey.h"

namespace foundling {

// A sum of bytes into 8 or 16 bits, or an exclusive-or into 8, kept at `place`.
[[nodiscard]] std::optional<ChecksumFinding> find_byte_sum(const ChecksumSamples& samples,
                                                           const ChecksumPlace& place);

// A nibble that is the sum or exclusive-or of all other nibbles.
[[nodiscard]] std::optional<ChecksumFinding> find_nibble_sum(const ChecksumSamples& samples,
                                                             const Span& nibble);

// SAE J1939-71, SPN 4207 (three bits) and its four-bit sister form: high nibble of byte 7.
[[nodiscard]] std::optional<ChecksumFinding> find_j1939(const ChecksumSamples& samples);

}  // namespace foundling
