#include "tools/exchange/can_record.h"

#include <algorithm>
#include <array>

namespace foundling {
namespace {

constexpr std::size_t header_bytes = 8;
constexpr std::size_t classical_bytes = 16;

}  // namespace

std::variant<Frame, std::string> frame_of_record(std::span<const std::uint8_t> bytes) {
  if (bytes.size() < header_bytes) {
    return "expected at least 8 bytes, found " + std::to_string(bytes.size());
  }
  if ((bytes[4] & 0x80U) != 0) return "a CAN XL frame, which is not supported";
  Frame frame;
  frame.id.raw = static_cast<std::uint32_t>(bytes[0]) << 24U |
                 static_cast<std::uint32_t>(bytes[1]) << 16U |
                 static_cast<std::uint32_t>(bytes[2]) << 8U | bytes[3];
  frame.length = bytes[4];
  frame.flags = bytes[5];
  // Older writers leave the FD bit out; then the record's size tells.
  if (bytes.size() == longest_can_record) frame.flags |= fd_flag_fd_format;
  const std::size_t most = (frame.flags & fd_flag_fd_format) != 0 ? 64 : 8;
  if (frame.length > most) {
    return "expected a payload of at most " + std::to_string(most) + " bytes, found " +
           std::to_string(frame.length);
  }
  if (!is_frame_length(frame.length)) {
    return "no CAN FD frame has " + std::to_string(frame.length) + " bytes";
  }
  const auto payload = bytes.subspan(header_bytes);
  if (!frame.id.is_extended() && !frame.id.is_error() && (frame.id.raw & 0x1FFFF800U) != 0) {
    return "expected an 11-bit identifier, found more bits without the 29-bit flag";
  }
  // A remote frame asks for that many bytes and has none.
  if (payload.size() < frame.length && !frame.id.is_remote()) {
    return "payload of " + std::to_string(frame.length) + " bytes, but the packet holds " +
           std::to_string(payload.size());
  }
  std::copy_n(payload.begin(), std::min<std::size_t>(payload.size(), frame.length),
              frame.payload.begin());
  return frame;
}

bool is_frame_length(std::size_t length) {
  constexpr std::array<std::size_t, 7> longer = {12, 16, 20, 24, 32, 48, 64};
  return length <= 8 || std::ranges::find(longer, length) != longer.end();
}

void append_can_record(std::string& bytes, const Frame& frame) {
  const auto put = [&](std::uint32_t byte) { bytes += static_cast<char>(byte & 0xFFU); };
  for (const unsigned shift : {24U, 16U, 8U, 0U}) put(frame.id.raw >> shift);
  put(frame.length);
  put(frame.flags);
  put(0);
  put(0);
  const bool fd = (frame.flags & fd_flag_fd_format) != 0 || frame.length > 8;
  const std::size_t room = (fd ? longest_can_record : classical_bytes) - header_bytes;
  for (std::size_t i = 0; i < room; ++i) put(frame.payload[i]);
}

}  // namespace foundling
