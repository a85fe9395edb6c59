#include "decoder/relate/joined_bits.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace foundling::relate {
namespace {

BitPosition position(std::size_t index) {
  return {static_cast<std::uint8_t>(index / 8), static_cast<std::uint8_t>(7 - index % 8)};
}

// How often each bit flipped, alone and together with a bit that may be the next lower one.
class Flips {
 public:
  Flips(const MessageSeries& message, std::span<const std::uint32_t> rows)
      : bytes_(message.length),
        alone(bytes_ * 8),
        with_next(bytes_ * 8),
        with_big(bytes_),
        with_little(bytes_),
        padding_(padding_of(message, rows)) {
    visit(message, rows, [this](const auto& changed) {
      count(changed);
      ++pairs;
    });
    steps_big.assign(bytes_ * 8, 0);
    steps_little = steps_big;
    visit(message, rows, [this](const auto& changed) { count_steps(changed); });
  }

 private:
  // Bytes that are all ones in every frame.
  static std::size_t padding_of(const MessageSeries& message, std::span<const std::uint32_t> rows) {
    std::vector<std::uint8_t> both(message.length, 0xFF);
    for (const std::uint32_t row : rows) {
      const auto bytes = message.row(row);
      for (std::size_t i = 0; i < both.size(); ++i) both[i] &= bytes[i];
    }
    return static_cast<std::size_t>(std::ranges::count(both, 0xFF));
  }

  // What changed from each frame to the next.
  template <typename Use>
  void visit(const MessageSeries& message, std::span<const std::uint32_t> rows, Use use) const {
    std::vector<std::uint8_t> changed(bytes_);
    for (std::size_t i = 1; i < rows.size(); ++i) {
      const auto before = message.row(rows[i - 1]);
      const auto now = message.row(rows[i]);
      // Where most of a payload turns into all ones or back, the board has started or stopped
      // measuring; that says nothing about numbers.
      const auto blank = [this](std::span<const std::uint8_t> row) {
        const auto ones = static_cast<std::size_t>(std::ranges::count(row, 0xFF));
        return (ones - padding_) * 2 > row.size() - padding_;
      };
      if (blank(before) || blank(now)) continue;
      for (std::size_t byte = 0; byte < bytes_; ++byte) {
        changed[byte] = static_cast<std::uint8_t>(before[byte] ^ now[byte]);
      }
      use(changed);
    }
  }

  // In a step of a number several of its upper bits flip at once, a flag flips alone. Bits that
  // noise flips say nothing here.
  void count_steps(const std::vector<std::uint8_t>& changed) {
    const double rare = 0.05 * pairs;
    std::vector<std::uint8_t> upper(bytes_);
    for (std::size_t i = 0; i < alone.size(); ++i) {
      if (alone[i] <= rare) upper[i / 8] |= static_cast<std::uint8_t>(0x80U >> (i % 8));
    }
    for (std::size_t byte = 0; byte < bytes_; ++byte) {
      const auto flipped = static_cast<unsigned>(changed[byte] & upper[byte]);
      if (flipped == 0) continue;
      const auto whole = [&](std::size_t other) { return (changed[other] & upper[other]) != 0; };
      const bool behind = byte + 1 < bytes_ && whole(byte + 1);
      const bool ahead = byte > 0 && whole(byte - 1);
      for (std::size_t i = 0; i < 8; ++i) {
        if (((flipped >> (7 - i)) & 1U) == 0) continue;
        const bool below = (flipped & ((1U << (7 - i)) - 1)) != 0;
        if (below || behind) ++steps_big[byte * 8 + i];
        if (below || ahead) ++steps_little[byte * 8 + i];
      }
    }
  }

  void count(const std::vector<std::uint8_t>& changed) {
    for (std::size_t byte = 0; byte < bytes_; ++byte) {
      const unsigned flipped = changed[byte];
      if (flipped == 0) continue;
      for (std::size_t i = 0; i < 8; ++i) {
        if (((flipped >> (7 - i)) & 1U) == 0) continue;
        ++alone[byte * 8 + i];
        if (i < 7 && ((flipped >> (6 - i)) & 1U) != 0) ++with_next[byte * 8 + i];
      }
      if ((changed[byte] & 1U) == 0) continue;
      if (byte + 1 < bytes_ && (changed[byte + 1] & 0x80U) != 0) ++with_big[byte];
      if (byte > 0 && (changed[byte - 1] & 0x80U) != 0) ++with_little[byte];
    }
  }

  std::size_t bytes_;

 public:
  std::vector<std::uint32_t> alone;
  std::vector<std::uint32_t> with_next;    // with the next lower bit of the byte
  std::vector<std::uint32_t> with_big;     // bit 0 of a byte with bit 7 of the byte behind it
  std::vector<std::uint32_t> with_little;  // with bit 7 of the byte ahead of it
  std::vector<std::uint32_t> steps_big;    // of a rare bit, together with one beneath it
  std::vector<std::uint32_t> steps_little;
  std::uint32_t pairs = 0;

 private:
  std::size_t padding_;
};

class Joiner {
 public:
  Joiner(const MessageSeries& message, std::span<const std::uint32_t> rows,
         const std::vector<bool>& owned, ByteOrder preferred)
      : bytes_(message.length),
        preferred_(preferred),
        flips_(message, rows),
        moves_(bytes_ * 8),
        lower_(bytes_ * 8, none),
        upper_(bytes_ * 8, none) {
    for (std::size_t i = 0; i < moves_.size(); ++i) moves_[i] = !owned[i] && flips_.alone[i] > 0;
  }

  [[nodiscard]] OrderVotes votes() const {
    OrderVotes out;
    for (const Bridge& bridge : bridges()) {
      (bridge.to > bridge.from ? out.big : out.little) += bridge.weight;
    }
    return out;
  }

  std::vector<Span> run() {
    for (std::size_t i = 0; i + 1 < moves_.size(); ++i) {
      if (i % 8 != 7 && belongs(i, i + 1, flips_.with_next[i])) join(i, i + 1);
    }
    join_bytes();
    std::vector<Span> spans;
    for (std::size_t i = 0; i < moves_.size(); ++i) {
      if (!moves_[i] || upper_[i] != none) continue;
      std::size_t low = i;
      int width = 1;
      for (; lower_[low] != none && width < 32; low = lower_[low]) ++width;
      spans.push_back({position(i), position(low)});
    }
    return spans;
  }

 private:
  static constexpr double few = 24;       // flips, of which a quarter may be no more than luck
  static constexpr double clearly = 0.4;  // of its flips
  static constexpr std::size_t none = ~std::size_t{0};

  struct Bridge {
    std::size_t from, to;
    double weight;
  };

  // Bits that flip in a fifth of the frames flip at random, and then only their order by rate
  // counts: a walk by two flips its lowest bit less. Above those a flip is a carry, or part of a
  // step in which about half of the lower bits flip too; by accident that would be rare.
  [[nodiscard]] bool belongs(std::size_t high, std::size_t low, std::uint32_t together) const {
    if (!moves_[high] || !moves_[low]) return false;
    const double flips_high = flips_.alone[high];
    const double flips_low = flips_.alone[low];
    const bool random = flips_low >= 0.2 * flips_.pairs;
    const double luck = 1.5 * std::sqrt(flips_high);  // of a count
    if (flips_high > (random ? 1.7 : 1.3) * flips_low + luck + 2) return false;
    if (random) return true;
    if (flips_high < few) {
      const auto& steps = preferred_ == ByteOrder::big ? flips_.steps_big : flips_.steps_little;
      if (steps[high] >= 0.6 * flips_high) return true;
    }
    return together >= 0.25 * flips_high &&
           together * double(flips_.pairs) >= 3 * flips_high * flips_low;
  }

  void join(std::size_t high, std::size_t low) {
    lower_[high] = low;
    upper_[low] = high;
  }

  [[nodiscard]] std::vector<Bridge> bridges() const {
    std::vector<Bridge> out;
    for (std::size_t byte = 0; byte < bytes_; ++byte) {
      const std::size_t from = byte * 8 + 7;
      const auto weigh = [&](std::size_t to, std::uint32_t together) {
        if (belongs(from, to, together))
          out.push_back({from, to, together / double(flips_.alone[from])});
      };
      if (byte + 1 < bytes_) weigh(from + 1, flips_.with_big[byte]);
      if (byte > 0) weigh((byte - 1) * 8, flips_.with_little[byte]);
    }
    return out;
  }

  // The stronger bridges first; a byte goes on in one direction only.
  void join_bytes() {
    std::vector<Bridge> found = bridges();
    for (Bridge& bridge : found) {
      if ((bridge.to > bridge.from) == (preferred_ == ByteOrder::big)) bridge.weight += clearly;
    }
    std::ranges::stable_sort(found, std::ranges::greater{}, &Bridge::weight);
    for (const Bridge& bridge : found) {
      if (lower_[bridge.from] != none || upper_[bridge.to] != none) continue;
      const std::size_t back = bridge.to / 8 * 8 + 7;  // the neighbour's own way back
      if (lower_[back] == bridge.from / 8 * 8) continue;
      join(bridge.from, bridge.to);
    }
  }

  std::size_t bytes_;
  ByteOrder preferred_;
  Flips flips_;
  std::vector<bool> moves_;
  std::vector<std::size_t> lower_;
  std::vector<std::size_t> upper_;
};

}  // namespace

OrderVotes order_votes(const MessageSeries& message, std::span<const std::uint32_t> rows,
                       const std::vector<bool>& owned) {
  if (rows.size() < 8) return {};
  return Joiner(message, rows, owned, ByteOrder::big).votes();
}

std::vector<Span> joined_bits(const MessageSeries& message, std::span<const std::uint32_t> rows,
                              const std::vector<bool>& owned, ByteOrder preferred) {
  if (rows.size() < 8) return {};
  return Joiner(message, rows, owned, preferred).run();
}

void join_as_on_other_pages(std::vector<std::vector<Span>>& pages) {
  if (pages.size() < 4) return;
  std::map<BitPosition, std::size_t> ends;
  for (const auto& spans : pages) {
    for (const Span& span : spans) ++ends[span.lsb];
  }
  const auto usual = [&](BitPosition p) { return ends[p] * 2 > pages.size(); };
  for (auto& spans : pages) {
    for (std::size_t i = 0; i < spans.size(); ++i) {
      if (usual(spans[i].lsb)) continue;
      const auto below = std::ranges::find_if(spans, [&](const Span& other) {
        if (!usual(other.lsb)) return false;
        for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
          const auto both = Span::from_lsb(other.lsb, other.width() + spans[i].width(), order);
          if (both && both->msb == spans[i].msb && both->contains(spans[i].lsb)) return true;
        }
        return false;
      });
      if (below == spans.end()) continue;
      *below = Span{spans[i].msb, below->lsb};
      spans.erase(spans.begin() + static_cast<std::ptrdiff_t>(i--));
    }
  }
}

}  // namespace foundling::relate
