// The sender's side of ISO 15765-2, written from the standard's table of frame types for the tests
// alone: a payload cut into the frames that carry it.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace foundling::test {

using Bytes = std::vector<std::uint8_t>;

struct SegmentForm {
  std::size_t frame = 8;                  // bytes of a frame; more with CAN FD
  std::optional<std::uint8_t> address{};  // in front of every frame
  bool long_length = false;               // a first frame with 32 bits of length
  bool padded = true;                     // the last frame as long as the others
};

[[nodiscard]] std::vector<Bytes> segments_of(std::span<const std::uint8_t> payload,
                                             const SegmentForm& form = {});

}  // namespace foundling::test
