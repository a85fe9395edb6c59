// How a message of payloads is known that frames carry in segments: by the identifier of these
// frames, marked. The mark is both flags of what is no data frame, remote and error, which no frame
// has together, so that payloads and frames of one identifier are never taken for each other; the
// address in front of the segments stands above an identifier of 11 bits. (Of 29 bits there is no
// room for one: addressed segments are told for 11 bits only.)
#pragma once

#include <cstddef>
#include <cstdint>

#include "schemas/values/frame.h"

namespace foundling {

inline constexpr std::size_t longest_frame = 64;     // bytes, CAN FD
inline constexpr std::size_t longest_payload = 255;  // that rows and spans count, in one byte

struct Transport {
  enum class Kind : std::uint8_t {
    none,
    segments,            // ISO 15765-2
    addressed_segments,  // the same behind a byte of address: extended or mixed addressing
  };
  Kind kind = Kind::none;
  std::uint8_t address = 0;  // of addressed segments
  bool operator==(const Transport&) const = default;
};

inline constexpr std::uint32_t payload_mark = CanId::remote_flag | CanId::error_flag;
inline constexpr std::uint32_t address_mark = 1U << 19U;  // above the address in bits 11 to 18
inline constexpr unsigned address_shift = 11;

[[nodiscard]] constexpr bool is_payload(CanId id) {
  return (id.raw & payload_mark) == payload_mark;
}

[[nodiscard]] constexpr CanId frames_of(CanId id) {
  if (!is_payload(id)) return id;
  return id.is_extended() ? CanId::extended(id.number()) : CanId::standard(id.number());
}

[[nodiscard]] constexpr CanId payload_id(CanId frames, Transport transport) {
  if (transport.kind == Transport::Kind::none) return frames;
  std::uint32_t raw = frames.raw | payload_mark;
  if (transport.kind == Transport::Kind::addressed_segments) {
    raw |= address_mark | std::uint32_t{transport.address} << address_shift;
  }
  return {raw};
}

[[nodiscard]] constexpr Transport transport_of(CanId id) {
  if (!is_payload(id)) return {};
  if (id.is_extended() || (id.raw & address_mark) == 0) return {Transport::Kind::segments, 0};
  return {Transport::Kind::addressed_segments, static_cast<std::uint8_t>(id.raw >> address_shift)};
}

}  // namespace foundling
