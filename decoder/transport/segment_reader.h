// Puts payloads together from one sender's frames, ISO 15765-2 (segmented transport): single, first
// and consecutive frames, lengths of 12 and 32 bits, CAN FD, normal addressing or a byte of address
// in front of all. A payload is whole or it is none: what is lost, repeated, late or out of order
// drops it, and is counted. Pure; holds one unfinished payload at a time.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "schemas/values/payload_id.h"

namespace foundling {

struct SegmentCounts {
  std::uint64_t frames = 0;
  std::uint64_t fitting = 0;        // of a form which the standard has, and in turn
  std::uint64_t single = 0;         // whole payloads of one frame
  std::uint64_t segmented = 0;      // whole payloads of several
  std::uint64_t out_of_order = 0;   // dropped: a number was missing
  std::uint64_t repeated = 0;       // dropped: a number came twice
  std::uint64_t late = 0;           // dropped: a segment came too long after the one before
  std::uint64_t cut_short = 0;      // dropped: another payload began first
  std::uint64_t too_long = 0;       // dropped: more than `longest_payload` bytes
  std::uint64_t without_first = 0;  // consecutive frames whose beginning was not seen

  [[nodiscard]] std::uint64_t whole() const { return single + segmented; }
  [[nodiscard]] std::uint64_t dropped() const {
    return out_of_order + repeated + late + cut_short + too_long;
  }
};

class SegmentReader {
 public:
  explicit SegmentReader(Transport transport = {Transport::Kind::segments, 0});

  // The payload that this frame completes; it stands until the next call. Frames in order of time.
  [[nodiscard]] std::optional<std::span<const std::uint8_t>> take(
      std::int64_t t_ns, std::span<const std::uint8_t> frame);
  [[nodiscard]] const SegmentCounts& counts() const { return counts_; }

 private:
  using Whole = std::optional<std::span<const std::uint8_t>>;
  Whole single(std::span<const std::uint8_t> frame);
  void first(std::int64_t t_ns, std::span<const std::uint8_t> frame);
  Whole consecutive(std::int64_t t_ns, std::span<const std::uint8_t> frame);
  void drop(std::uint64_t& why);
  [[nodiscard]] bool is_late(std::int64_t gap_ns);

  Transport transport_;
  SegmentCounts counts_;
  std::vector<std::uint8_t> bytes_;
  std::size_t length_ = 0;  // of the unfinished payload; 0: there is none
  std::size_t frame_ = 0;   // bytes of its first frame: all but the last are as long
  unsigned next_ = 0;       // number of the segment that comes next
  std::int64_t last_ns_ = 0;
  // Usual time from a first frame to its second segment, and between later ones.
  std::int64_t usual_ns_[2];
};

}  // namespace foundling
