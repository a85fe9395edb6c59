#include "decoder/analysis/survey_transport.h"

#include <cstdint>

namespace foundling {
namespace {

// Follows one identifier's frames. Byte 0 holds the frame type in its high nibble: 0 single, 1
// first, 2 consecutive, 3 flow control.
class Transport {
 public:
  void take(std::span<const std::uint8_t> frame) {
    ++frames_;
    if (frame.empty()) return;
    const unsigned low = frame[0] & 0x0FU;
    switch (frame[0] >> 4U) {
      case 0:
        fits_ += low >= 1 && low < frame.size() ? 1U : 0U;
        left_ = 0;
        break;
      case 1:
        first(low, frame);
        break;
      case 2:
        consecutive(low, frame.size());
        break;
      case 3:
        fits_ += low <= 2 && frame.size() >= 3 ? 1U : 0U;
        break;
      default:
        left_ = 0;
    }
  }

  [[nodiscard]] bool seen() const { return whole_ > 0 && fits_ * 20 >= frames_ * 19; }

 private:
  void first(unsigned low, std::span<const std::uint8_t> frame) {
    left_ = 0;
    if (frame.size() < 8) return;
    const std::size_t length = low * 256 + frame[1];
    if (length <= frame.size() - 2) return;
    left_ = length - (frame.size() - 2);
    next_ = 1;
    ++fits_;
  }

  void consecutive(unsigned number, std::size_t size) {
    if (left_ == 0 || number != next_) {
      left_ = 0;
      return;
    }
    ++fits_;
    next_ = (next_ + 1) % 16;
    if (left_ > size - 1) {
      left_ -= size - 1;
    } else {
      left_ = 0;
      ++whole_;
    }
  }

  std::size_t frames_ = 0, fits_ = 0, whole_ = 0, left_ = 0;
  unsigned next_ = 0;
};

}  // namespace

bool is_segmented_transport(const MessageSeries& message) {
  Transport transport;
  for (std::size_t i = 0; i < message.size(); ++i) {
    const std::size_t length = message.lengths.empty() ? message.length : message.lengths[i];
    transport.take(message.row(i).first(length));
  }
  return transport.seen();
}

}  // namespace foundling
