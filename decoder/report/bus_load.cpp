#include "decoder/report/bus_load.h"

#include "schemas/values/payload_id.h"

namespace foundling {

FrameBits frame_bits(bool extended, int data_bytes) {
  constexpr int never_stuffed = 13;  // CRC delimiter, ACK slot and delimiter, end, interframe space
  const int stuffed = (extended ? 54 : 34) + 8 * data_bytes;
  return {stuffed + never_stuffed, stuffed + never_stuffed + (stuffed - 1) / 4};
}

std::optional<BusLoad> bus_load(const Survey& survey, std::uint8_t bus, double duration_s,
                                std::int64_t bit_rate) {
  if (duration_s <= 0 || bit_rate <= 0) return {};
  BusLoad load;
  const double bits = duration_s * static_cast<double>(bit_rate);
  for (const MessageSurvey& message : survey.messages) {
    if (message.bus != bus || is_payload(message.id)) continue;
    if (message.length > 8) {
      load.without_fd = true;
      continue;
    }
    const FrameBits frame = frame_bits(message.id.is_extended(), message.length);
    const auto frames = static_cast<double>(message.frames);
    load.least += frames * frame.unstuffed / bits;
    load.most += frames * frame.worst_case / bits;
  }
  return load;
}

}  // namespace foundling
