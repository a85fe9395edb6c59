// Raw codes of a field that stand for no value: a board says all ones while it has none to give.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "decoder/analysis/coding.h"
#include "decoder/analysis/proposal.h"

namespace foundling {

// The code of all ones, where the message shows it and every ordinary value stays clear of it (SAE
// J1939-71 keeps the top of each range for such codes; so do many boards). Empty for two's
// complement, where all ones is -1, for floats, and for fields under 4 bits.
[[nodiscard]] std::vector<std::uint64_t> reserved_codes(const MessageSeries& message,
                                                        const FieldPlace& place, Coding coding);

// The codes of a field in frames that were left out as substitutes. Only such as lie beyond all of
// its values: a code among them, as a zero between currents of either sign, may be a value
// tomorrow.
struct SubstituteCodes {
  std::vector<std::uint64_t> all;
  std::vector<std::uint64_t> startup;  // of these, those before any frame that counts only
};
[[nodiscard]] SubstituteCodes substitute_codes(const MessageSeries& message,
                                               const std::vector<bool>& left_out,
                                               const FieldPlace& place, Coding coding);

// The code of all ones of a field whose values come near it, by company: where each frame that
// shows it, two at least, has another field of that message at one of its own codes for no value.
// Both at their ends by their values, in all those frames and in no others, would be chance.
[[nodiscard]] std::vector<std::uint64_t> reserved_in_company(const MessageSeries& message,
                                                             const Proposal& proposal,
                                                             std::span<const Proposal> others);

}  // namespace foundling
