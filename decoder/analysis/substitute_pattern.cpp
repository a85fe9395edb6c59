#include "decoder/analysis/substitute_pattern.h"

#include <algorithm>
#include <vector>

#include "decoder/analysis/observation_priors.h"

namespace foundling {
namespace {

// Bits of a payload that are the same in a set of frames, and how they stand.
class CommonBits {
 public:
  explicit CommonBits(std::size_t bytes) : same_(bytes, 0xFF), value_(bytes, 0) {}

  void add(std::span<const std::uint8_t> payload) {
    for (std::size_t k = 0; k < same_.size(); ++k) {
      if (frames_ == 0) value_[k] = payload[k];
      same_[k] = static_cast<std::uint8_t>(same_[k] & ~(payload[k] ^ value_[k]));
    }
    ++frames_;
  }
  [[nodiscard]] std::size_t frames() const { return frames_; }

  // Leaves a field's own bits out of what is compared.
  void forget(const Span& field) {
    for (int i = 0; i < field.width(); ++i) {
      const BitPosition at = field.position(i);
      same_[at.byte] = static_cast<std::uint8_t>(same_[at.byte] & ~(1U << at.bit));
    }
  }
  [[nodiscard]] bool in(std::span<const std::uint8_t> payload) const {
    for (std::size_t k = 0; k < same_.size(); ++k) {
      if (((payload[k] ^ value_[k]) & same_[k]) != 0) return false;
    }
    return true;
  }

 private:
  std::vector<std::uint8_t> same_;
  std::vector<std::uint8_t> value_;
  std::size_t frames_ = 0;
};

bool is_extreme(std::uint64_t code, int width) {
  const std::uint64_t ones = width >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << width) - 1;
  return code == 0 || code == ones;
}

}  // namespace

void leave_out_alike(const MessageSeries& message, const Stream& stream, const Span& field,
                     std::uint64_t code, LeftOut& out) {
  if (out.empty()) return;
  const auto counts = [&](std::size_t i) {
    if (!message.lengths.empty() && message.lengths[i] <= field.last_byte()) return false;
    return !stream.page || extract(stream.page->span, message.row(i)) == stream.page->value;
  };
  CommonBits common(message.length);
  for (std::size_t i = 0; i < message.size(); ++i) {
    if (out[i] && counts(i) && extract(field, message.row(i)) == code) common.add(message.row(i));
  }
  if (common.frames() < least_repeats) return;
  common.forget(field);
  std::size_t others = 0;
  std::size_t alike = 0;
  std::vector<std::size_t> found;
  for (std::size_t i = 0; i < message.size(); ++i) {
    if (out[i] || !counts(i)) continue;
    const bool like = common.in(message.row(i));
    if (extract(field, message.row(i)) == code) {
      if (like) found.push_back(i);
      continue;
    }
    ++others;
    alike += like ? 1 : 0;
  }
  if (static_cast<double>(alike) > most_alike * static_cast<double>(others)) return;
  // More often about right than far off: a value, and what was called a substitute a late step. All
  // zeros and all ones are what boards without a measurement send, however often that is about
  // right.
  if (found.size() > common.frames() && !is_extreme(code, field.width())) return;
  for (const std::size_t i : found) out[i] = true;
}

}  // namespace foundling
