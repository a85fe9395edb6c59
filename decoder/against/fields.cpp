#include "decoder/against/fields.h"

#include <algorithm>
#include <array>

namespace foundling::held {
namespace {

constexpr std::size_t bits = 512;

enum class Motion { none, moving, other_value };  // other_value: still in both, not at one value

// How often each bit flipped, alone and together with the bit below it.
struct Flips {
  std::array<std::uint32_t, bits> alone{};
  std::array<std::uint32_t, bits> with_next{};  // the next lower bit of the same byte
  std::array<std::uint32_t, 64> with_big{};     // bit 0 of the byte, bit 7 of the byte after it
  std::array<std::uint32_t, 64> with_little{};  // bit 0 of the byte, bit 7 of the byte before it
  std::uint32_t rows = 0;
};

void count_row(std::span<const std::uint8_t> before, std::span<const std::uint8_t> now,
               Flips& flips) {
  for (std::size_t byte = 0; byte < now.size(); ++byte) {
    const auto changed = static_cast<unsigned>(before[byte] ^ now[byte]);
    if (changed == 0) continue;
    for (std::size_t i = 0; i < 8; ++i) {
      if (((changed >> (7 - i)) & 1U) == 0) continue;
      ++flips.alone[byte * 8 + i];
      if (i < 7 && ((changed >> (6 - i)) & 1U) != 0) ++flips.with_next[byte * 8 + i];
    }
    if ((changed & 1U) == 0) continue;
    const auto top_flipped = [&](std::size_t other) {
      return ((before[other] ^ now[other]) & 0x80) != 0;
    };
    if (byte + 1 < now.size() && top_flipped(byte + 1)) ++flips.with_big[byte];
    if (byte > 0 && top_flipped(byte - 1)) ++flips.with_little[byte];
  }
}

void count_side(const MessageSeries& series, const std::vector<std::size_t>& rows,
                std::size_t bytes, Flips& flips) {
  for (std::size_t i = 1; i < rows.size(); ++i) {
    const auto before = series.row(rows[i - 1]);
    const auto now = series.row(rows[i]);
    count_row(before.first(bytes), now.first(bytes), flips);
    ++flips.rows;
  }
}

class Joiner {
 public:
  Joiner(const MessagePair& pair, const Stream& stream, const BitSet& owned)
      : bytes_(std::min(pair.a.series->length, pair.b.series->length)) {
    lower_.fill(none);
    upper_.fill(none);
    count_side(*pair.a.series, stream.rows_a, bytes_, flips_);
    count_side(*pair.b.series, stream.rows_b, bytes_, flips_);
    const auto first_a = pair.a.series->row(stream.rows_a.front());
    const auto first_b = pair.b.series->row(stream.rows_b.front());
    for (std::size_t i = 0; i < bytes_ * 8; ++i) {
      if (owned[i]) continue;
      const bool differs = (((first_a[i / 8] ^ first_b[i / 8]) >> (7 - i % 8)) & 1) != 0;
      motion_[i] = flips_.alone[i] > 0 ? Motion::moving
                   : differs           ? Motion::other_value
                                       : Motion::none;
    }
  }

  std::vector<Span> run() {
    for (std::size_t i = 0; i + 1 < bytes_ * 8; ++i) {
      if (i % 8 != 7 && belongs(i, i + 1, flips_.with_next[i])) join(i, i + 1);
    }
    join_bytes();
    std::vector<Span> spans;
    for (std::size_t i = 0; i < bytes_ * 8; ++i) {
      if (motion_[i] == Motion::none || upper_[i] != none) continue;
      collect(i, spans);
    }
    return spans;
  }

 private:
  static constexpr std::size_t none = bits;

  struct Bridge {  // from bit 0 of a byte to bit 7 of its neighbour
    std::size_t from, to;
    double weight;
  };

  [[nodiscard]] bool belongs(std::size_t high, std::size_t low, std::uint32_t together) const {
    if (motion_[high] == Motion::none || motion_[low] == Motion::none) return false;
    if (motion_[high] == Motion::other_value) return true;
    if (motion_[low] == Motion::other_value) return false;
    const auto flips_high = static_cast<double>(flips_.alone[high]);
    const auto flips_low = static_cast<double>(flips_.alone[low]);
    // Below bits that flip at random the order of rates is loose: a walk by two flips bit 0 less.
    const bool random = flips_low >= 0.2 * flips_.rows;
    if (flips_high > (random ? 1.7 : 1.3) * flips_low + 2) return false;
    return random || together >= 0.7 * flips_high;  // above those, or by a carry
  }

  void join(std::size_t high, std::size_t low) {
    lower_[high] = low;
    upper_[low] = high;
  }

  // The stronger bridges first; a byte goes on in one direction only.
  void join_bytes() {
    std::vector<Bridge> bridges;
    for (std::size_t byte = 0; byte < bytes_; ++byte) {
      const std::size_t from = byte * 8 + 7;
      const auto weigh = [&](std::size_t to, std::uint32_t together) {
        if (!belongs(from, to, together)) return;
        const auto flips = static_cast<double>(flips_.alone[from]);
        bridges.push_back({from, to, flips > 0 ? together / flips : 0.5});
      };
      if (byte + 1 < bytes_) weigh(from + 1, flips_.with_big[byte]);
      if (byte > 0) weigh((byte - 1) * 8, flips_.with_little[byte]);
    }
    std::stable_sort(bridges.begin(), bridges.end(),
                     [](const Bridge& x, const Bridge& y) { return x.weight > y.weight; });
    for (const Bridge& bridge : bridges) {
      if (lower_[bridge.from] != none || upper_[bridge.to] != none) continue;
      const std::size_t back = bridge.to / 8 * 8 + 7;  // the neighbour's own way back
      if (lower_[back] == bridge.from / 8 * 8) continue;
      join(bridge.from, bridge.to);
    }
  }

  void collect(std::size_t top, std::vector<Span>& spans) const {
    std::size_t first = top;
    std::size_t width = 1;
    std::size_t low = top;
    for (; lower_[low] != none; low = lower_[low]) {
      if (width == 64) {
        spans.push_back({bit_place(first), bit_place(low)});
        first = lower_[low];
        width = 0;
      }
      ++width;
    }
    spans.push_back({bit_place(first), bit_place(low)});
  }

  std::size_t bytes_;
  Flips flips_;
  std::array<Motion, bits> motion_{};
  std::array<std::size_t, bits> lower_{};
  std::array<std::size_t, bits> upper_{};
};

}  // namespace

std::vector<Span> changing_fields(const MessagePair& pair, const Stream& stream,
                                  const BitSet& owned) {
  if (stream.rows_a.empty() || stream.rows_b.empty()) return {};
  return Joiner(pair, stream, owned).run();
}

}  // namespace foundling::held
