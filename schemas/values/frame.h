// One CAN frame as recorded, and all frames of one message in columns.
// Identifier flag bits are those of Linux can_id (linux/can.h); FD flags those of canfd_frame.
#pragma once

#include <array>
#include <compare>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace foundling {

// An identifier that knows 11 from 29 bits.
struct CanId {
  std::uint32_t raw = 0;  // bits 0-28 identifier, 29 error message, 30 remote, 31 extended format

  static constexpr std::uint32_t extended_flag = 0x80000000U;
  static constexpr std::uint32_t remote_flag = 0x40000000U;
  static constexpr std::uint32_t error_flag = 0x20000000U;

  [[nodiscard]] static constexpr CanId standard(std::uint32_t number) { return {number & 0x7FFU}; }
  [[nodiscard]] static constexpr CanId extended(std::uint32_t number) {
    return {(number & 0x1FFFFFFFU) | extended_flag};
  }
  [[nodiscard]] constexpr bool is_extended() const { return (raw & extended_flag) != 0; }
  [[nodiscard]] constexpr bool is_remote() const { return (raw & remote_flag) != 0; }
  [[nodiscard]] constexpr bool is_error() const { return (raw & error_flag) != 0; }
  [[nodiscard]] constexpr std::uint32_t number() const {
    return raw & (is_extended() ? 0x1FFFFFFFU : 0x7FFU);
  }
  auto operator<=>(const CanId&) const = default;
};

inline constexpr std::uint8_t fd_flag_bit_rate_switch = 0x01;
inline constexpr std::uint8_t fd_flag_error_state = 0x02;
inline constexpr std::uint8_t fd_flag_fd_format = 0x04;

struct Frame {
  std::int64_t t_ns = 0;  // since the session's start, steady
  CanId id;
  std::uint8_t bus = 0;
  std::uint8_t flags = 0;   // FD flags; 0 for classical CAN
  std::uint8_t length = 0;  // payload bytes, 0..8, or up to 64 with FD
  std::array<std::uint8_t, 64> payload{};

  [[nodiscard]] std::span<const std::uint8_t> bytes() const { return {payload.data(), length}; }
};

// All data frames of one bus and identifier, in order of time, in columns (the analysers' input).
// Remote and error frames are not data frames and are not here.
struct MessageSeries {
  std::uint8_t bus = 0;
  CanId id;
  std::uint8_t length = 0;            // bytes a row: the longest payload seen
  std::vector<std::int64_t> t_ns;     // non-decreasing
  std::vector<std::uint8_t> bytes;    // row-major, t_ns.size() rows of `length` bytes, zero-filled
  std::vector<std::uint8_t> lengths;  // empty when every payload has `length` bytes; else one a row

  [[nodiscard]] std::size_t size() const { return t_ns.size(); }
  [[nodiscard]] std::span<const std::uint8_t> row(std::size_t i) const {
    return {bytes.data() + i * length, length};
  }
};

}  // namespace foundling
