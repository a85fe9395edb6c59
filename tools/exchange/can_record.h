// A packet of link type 227 (LINKTYPE_CAN_SOCKETCAN, tcpdump.org's list of link-layer header
// types): identifier and flag bits big-endian, length, FD flags, two reserved bytes, payload. 16
// bytes classical, 72 bytes FD; shorter ones without the padding are read too.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <variant>

#include "schemas/values/frame.h"

namespace foundling {

inline constexpr int can_link_type = 227;
inline constexpr std::uint32_t longest_can_record = 72;

// The frame with t_ns and bus 0, or what is wrong with the record.
[[nodiscard]] std::variant<Frame, std::string> frame_of_record(std::span<const std::uint8_t> bytes);

// Up to 8 bytes, and the longer ones that a CAN FD length code stands for (ISO 11898-1).
[[nodiscard]] bool is_frame_length(std::size_t length);

void append_can_record(std::string& bytes, const Frame& frame);

}  // namespace foundling
