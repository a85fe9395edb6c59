// Raw codes of a field that stand for no value: a board says all ones while it has none to give.
#pragma once

#include <cstdint>
#include <vector>

#include "decoder/analysis/coding.h"
#include "decoder/analysis/proposal.h"

namespace foundling {

// The code of all ones, where the message shows it and every ordinary value stays clear of it (SAE
// J1939-71 keeps the top of each range for such codes; so do many boards). Empty for two's
// complement, where all ones is -1, for floats, and for fields under 4 bits.
[[nodiscard]] std::vector<std::uint64_t> reserved_codes(const MessageSeries& message,
                                                        const FieldPlace& place, Coding coding);

}  // namespace foundling
