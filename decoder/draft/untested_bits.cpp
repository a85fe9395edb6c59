#include "decoder/draft/untested_bits.h"

#include <algorithm>
#include <cmath>

namespace foundling {
namespace {

class Reach {
 public:
  Reach(const Proposal& p, double stood)
      : p_(p), half_(std::ldexp(1.0, p.place.span.width() - 1)), stood_(raw_of(stood)) {}

  // The raw values between which a session is sure to go. Towards the ends the line is known the
  // less the further they lie from where it was seen.
  void go(double low, double high, double grain) {
    const double steps = std::abs(1 / p_.scale);
    const double at_least = 1 + (grain + 3 * p_.residual_rms) * steps;
    const double spread = std::max(0.0, p_.scale_interval.high - p_.scale_interval.low) / 2 * steps;
    const double one = raw_of(low);
    const double other = raw_of(high);
    const double least = std::min(one, other);
    const double most = std::max(one, other);
    from_ = std::min(stood_, least + at_least + spread * std::abs(least - stood_));
    to_ = std::max(stood_, most - at_least - spread * std::abs(most - stood_));
    // The raw values that there are: of a field whose sign bit stood still, either as they were
    // read, or those of two's complement.
    by_sign_ = !p_.is_signed && (from_ < 0 || to_ >= 2 * half_);
    const double begin = p_.is_signed ? -half_ : !by_sign_ ? 0 : stood_ < half_ ? -half_ : half_;
    from_ = std::max(from_, begin);
    to_ = std::min(to_, begin + 2 * half_ - 1);
  }

  [[nodiscard]] bool moves(int bit) const { return block(from_, bit) < block(to_, bit); }

  // Whether it does so only if the field is two's complement, which was not seen.
  [[nodiscard]] bool by_sign(int bit) const {
    return by_sign_ && block(std::max(from_, 0.0), bit) == block(std::min(to_, 2 * half_ - 1), bit);
  }

  [[nodiscard]] std::optional<double> above(int bit) const {
    const double raw = (block(stood_, bit) + 1) * std::ldexp(1.0, bit);
    if (p_.is_signed && raw >= half_) return {};
    return value_of(raw);
  }

  [[nodiscard]] std::optional<double> below(int bit) const {
    const double raw = block(stood_, bit) * std::ldexp(1.0, bit);
    if (p_.is_signed && raw <= -half_) return {};
    return value_of(raw);
  }

 private:
  [[nodiscard]] double raw_of(double value) const { return (value - p_.offset) / p_.scale; }
  [[nodiscard]] double value_of(double raw) const { return p_.offset + p_.scale * raw; }
  // Within one block of 2^bit values the bit, and those above it, stay as they are.
  static double block(double raw, int bit) { return std::floor(std::ldexp(raw, -bit)); }

  const Proposal& p_;
  double half_;  // of the raw values that the width has
  double stood_;
  double from_ = 0, to_ = 0;
  bool by_sign_ = false;
};

}  // namespace

UntestedBits untested_bits(const Proposal& p, double stood, double low, double high, double grain) {
  UntestedBits out;
  Reach reach(p, stood);
  reach.go(low, high, grain);
  const int width = p.place.span.width();
  const int lowest = width - p.untested_high_bits;
  int bit = lowest;
  while (bit < width && reach.moves(bit)) ++bit;
  out.moved = bit - lowest;
  out.still = width - bit;
  out.by_sign = out.moved > 0 && reach.by_sign(lowest);
  const int of = out.still > 0 ? bit : lowest;
  out.above = reach.above(of);
  out.below = reach.below(of);
  if (p.scale < 0) std::swap(out.above, out.below);
  return out;
}

}  // namespace foundling
