#include "decoder/analysis/coded_spans.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <optional>

namespace foundling {
namespace {

constexpr std::size_t most_frames = 2000;
constexpr int most_bits = 32;      // of digits, or of a sign and a magnitude
constexpr double sure_bits = 6.6;  // log2(100): by chance one span in a hundred messages

// A few frames of a message as bytes, and what of them is free.
class Sample {
 public:
  Sample(const BitMatrix& bits, const std::vector<bool>& owned, const std::vector<bool>& moving)
      : owned_(owned), moving_(moving), bytes_(static_cast<std::size_t>(bits.bits()) / 8) {
    const std::size_t stride = bits.frames() / most_frames + 1;
    for (std::size_t frame = 0; frame < bits.frames(); frame += stride) {
      std::vector<std::uint8_t>& row = rows_.emplace_back(bytes_, 0);
      for (int bit = 0; bit < bits.bits(); ++bit) {
        if (!bits.at(bit, frame)) continue;
        const BitPosition at = bit_position(bit);
        row[at.byte] = static_cast<std::uint8_t>(row[at.byte] | 1U << at.bit);
      }
    }
  }

  [[nodiscard]] std::size_t bytes() const { return bytes_; }
  [[nodiscard]] const std::vector<std::vector<std::uint8_t>>& rows() const { return rows_; }
  [[nodiscard]] bool moves(BitPosition p) const {
    return moving_[static_cast<std::size_t>(bit_index(p))];
  }
  [[nodiscard]] int moving_in(const Span& span) const {
    int moving = 0;
    for (int i = 0; i < span.width(); ++i) moving += moves(span.position(i)) ? 1 : 0;
    return moving;
  }
  [[nodiscard]] bool is_free(const Span& span) const {
    if (static_cast<std::size_t>(span.last_byte()) >= bytes_) return false;
    for (int i = 0; i < span.width(); ++i) {
      if (owned_[static_cast<std::size_t>(bit_index(span.position(i)))]) return false;
    }
    return true;
  }

 private:
  const std::vector<bool>& owned_;
  const std::vector<bool>& moving_;
  std::size_t bytes_;
  std::vector<std::vector<std::uint8_t>> rows_;
};

// A number that moves a bit moves all bits below it, down to where its codes end: a byte's worth
// that stands still between two moving bits parts two neighbours. Of v different numbers it would
// stand still with a chance of 2^(-8 (v - 1)).
bool is_parted(const Sample& sample, const Span& span) {
  constexpr int mantissa = 23;
  constexpr int byte = 8;
  int still = 0;  // bits in a row, below one that moves
  bool moved = false;
  for (int i = mantissa - 1; i >= 0; --i) {
    if (!sample.moves(span.position(i))) {
      ++still;
      continue;
    }
    if (moved && still >= byte) return true;
    moved = true;
    still = 0;
  }
  return false;
}

// Nearly all frames read as ordinary numbers: random bits have a wild exponent, and small integers
// read as denormal ones.
bool reads_as_float(const Sample& sample, const Span& span) {
  constexpr int least_moving = 12;
  if (!sample.is_free(span) || sample.moving_in(span) < least_moving) return false;
  if (is_parted(sample, span)) return false;
  std::size_t ordinary = 0;
  for (const auto& row : sample.rows()) {
    const double value = std::abs(number_of(extract(span, row), span.width(), Coding::ieee754));
    if (value == 0 || (value > 1e-6 && value < 1e9)) ++ordinary;
  }
  return ordinary * 20 >= sample.rows().size() * 19;
}

void add_floats(const Sample& sample, std::vector<CodedSpan>& out) {
  for (std::size_t byte = 0; byte < sample.bytes(); ++byte) {
    for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
      const auto span = Span::from_lsb({static_cast<std::uint8_t>(byte), 0}, 32, order);
      if (span && reads_as_float(sample, *span)) out.push_back({*span, Coding::ieee754});
    }
  }
}

// Four bits that never say more than nine: log2 of C(16, v) / C(10, v), the chance that v values of
// sixteen are digits all.
struct Nibble {
  unsigned seen = 0;  // a bit for each value

  [[nodiscard]] bool is_digit() const { return (seen & 0xFC00U) == 0; }
  [[nodiscard]] double evidence() const {
    double bits = 0;
    for (int v = 0; v < std::popcount(seen); ++v) bits += std::log2((16.0 - v) / (10.0 - v));
    return bits;
  }
};

class Digits {
 public:
  explicit Digits(const Sample& sample) : sample_(sample), nibbles_(2 * sample.bytes()) {
    for (const auto& row : sample.rows()) {
      for (std::size_t byte = 0; byte < row.size(); ++byte) {
        nibbles_[2 * byte].seen |= 1U << (row[byte] >> 4U);
        nibbles_[2 * byte + 1].seen |= 1U << (row[byte] & 0xFU);
      }
    }
    // Seven lengths from each nibble, and the other order where bytes are whole.
    tried_bits_ = std::log2(static_cast<double>(nibbles_.size()) * 9);
  }

  void add(const Span& span, std::vector<CodedSpan>& out) const {
    if (!sample_.is_free(span)) return;
    double evidence = 0;
    for (int i = 0; i < span.width(); i += 4) {
      const Nibble& nibble = at(span.position(i));
      if (!nibble.is_digit()) return;
      evidence += nibble.evidence();
    }
    if (evidence < tried_bits_ + sure_bits || at(span.lsb).seen == 1) return;
    // A digit on top that is always 0 adds nothing, unless it fills the byte.
    if (at(span.msb).seen == 1 && span.msb.bit != 7) return;
    out.push_back({span, Coding::decimal});
  }

  void add_all(std::vector<CodedSpan>& out) const {
    for (int lsb = 0; lsb < static_cast<int>(nibbles_.size()) * 4; lsb += 4) {
      const BitPosition low = bit_position(lsb);
      for (int width = 8; width <= most_bits; width += 4) {
        if (const auto span = Span::from_lsb(low, width, ByteOrder::big)) add(*span, out);
        if (low.bit != 0 || width < 16 || width % 8 != 0) continue;
        if (const auto span = Span::from_lsb(low, width, ByteOrder::little)) add(*span, out);
      }
    }
  }

 private:
  [[nodiscard]] const Nibble& at(BitPosition p) const {
    return nibbles_[std::size_t{p.byte} * 2 + (p.bit < 4 ? 1 : 0)];
  }

  const Sample& sample_;
  std::vector<Nibble> nibbles_;
  double tried_bits_ = 0;
};

// What it costs to say each number by its step from the one before.
double step_bits(const Sample& sample, const Span& span, Coding coding) {
  double bits = 0;
  std::optional<double> last;
  for (const auto& row : sample.rows()) {
    const double value = number_of(extract(span, row), span.width(), coding);
    if (last) bits += std::log2(1 + std::abs(value - *last));
    last = value;
  }
  return bits;
}

// From a top bit on downwards, through its byte and then on in the order's direction; the end of a
// nibble each. None beyond the payload, or where the other order has the same.
std::optional<Span> from_top(const Sample& sample, BitPosition msb, int width, ByteOrder order) {
  const int below = width - (msb.bit + 1);  // bits beyond the top bit's byte
  if (below <= 0) {
    if (order == ByteOrder::little) return {};
    return Span{msb, {msb.byte, static_cast<std::uint8_t>(-below)}};
  }
  const int more = (below + 7) / 8;
  const int byte = order == ByteOrder::big ? msb.byte + more : msb.byte - more;
  if (byte < 0 || byte >= static_cast<int>(sample.bytes())) return {};
  return Span{msb, {static_cast<std::uint8_t>(byte), static_cast<std::uint8_t>(8 * more - below)}};
}

// Near zero the sign alone changes, where a complement turns all bits over and a plain number goes
// half way: read from the nibbles that follow the top bit.
bool reads_as_sign(const Sample& sample, const Span& span) {
  const double plain = std::min(step_bits(sample, span, Coding::natural),
                                step_bits(sample, span, Coding::twos_complement));
  return step_bits(sample, span, Coding::sign_magnitude) < plain;
}

void add_signs(const Sample& sample, std::vector<CodedSpan>& out) {
  for (int top = 3; top < static_cast<int>(sample.bytes()) * 8; top += 4) {
    const BitPosition msb = bit_position(top);
    const Span in_byte{msb, {msb.byte, 0}};
    if (!sample.moves(msb) || !sample.is_free(in_byte) || !reads_as_sign(sample, in_byte)) continue;
    for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
      for (int width = 8; width <= most_bits; width += 4) {
        const auto span = from_top(sample, msb, width, order);
        if (span && sample.is_free(*span)) out.push_back({*span, Coding::sign_magnitude});
      }
    }
  }
}

}  // namespace

std::vector<CodedSpan> coded_spans(const BitMatrix& bits, const std::vector<bool>& owned,
                                   const std::vector<bool>& moving) {
  std::vector<CodedSpan> out;
  const Sample sample(bits, owned, moving);
  add_floats(sample, out);
  Digits(sample).add_all(out);
  add_signs(sample, out);
  return out;
}

}  // namespace foundling
