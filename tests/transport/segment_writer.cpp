#include "tests/transport/segment_writer.h"

#include <algorithm>

namespace foundling::test {
namespace {

void end_frame(Bytes& frame, const SegmentForm& form) {
  if (form.padded) frame.resize(std::max(frame.size(), form.frame), 0xAA);
}

}  // namespace

std::vector<Bytes> segments_of(std::span<const std::uint8_t> payload, const SegmentForm& form) {
  Bytes head;
  if (form.address) head.push_back(*form.address);
  const std::size_t size = payload.size();
  const std::size_t in_single = form.frame - head.size() - (form.frame > 8 ? 2 : 1);
  if (size <= in_single) {
    Bytes frame = head;
    // Frames of up to eight bytes have the length in their first byte, also those of CAN FD.
    if (form.frame > 8 && (form.padded || size + head.size() > 7)) frame.push_back(0);
    frame.push_back(static_cast<std::uint8_t>(size));
    frame.insert(frame.end(), payload.begin(), payload.end());
    end_frame(frame, form);
    return {frame};
  }
  Bytes frame = head;
  if (form.long_length) {
    frame.insert(frame.end(), {0x10, 0x00, 0x00, 0x00, static_cast<std::uint8_t>(size >> 8U),
                               static_cast<std::uint8_t>(size)});
  } else {
    frame.push_back(static_cast<std::uint8_t>(0x10U | size >> 8U));
    frame.push_back(static_cast<std::uint8_t>(size));
  }
  std::vector<Bytes> frames;
  std::size_t at = 0;
  for (unsigned number = 1;; ++number) {
    while (frame.size() < form.frame && at < size) frame.push_back(payload[at++]);
    end_frame(frame, form);
    frames.push_back(frame);
    if (at == size) return frames;
    frame = head;
    frame.push_back(static_cast<std::uint8_t>(0x20U | (number % 16)));
  }
}

}  // namespace foundling::test
