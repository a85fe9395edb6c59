#include "decoder/analysis/survey_schedule.h"

#include <algorithm>
#include <array>
#include <optional>

namespace foundling {
namespace {

constexpr std::size_t rows_looked_at = 4096;
constexpr std::size_t most_values = 128;
constexpr double least_change_rate = 0.15;
constexpr double least_foretold = 0.8;  // of the changes; the rest may be lost frames
constexpr double least_foretold_bit = 0.6;

constexpr std::size_t longest_memory = 5;
using Before = std::array<std::size_t, longest_memory>;  // the values before, the last one first

// What followed a few values last time; a stamp a field, so that nothing needs clearing. A narrow
// field keeps to the table's start, which stays in the processor's nearest cache.
class Memory {
 public:
  void start_field(int width, std::size_t depth) {
    ++round_;
    width_ = width;
    depth_ = depth;
  }
  // What followed these values last time, if they were met before; and remembers `value`.
  std::optional<std::size_t> next(const Before& before, std::size_t value) {
    std::uint64_t key = (before[1] << width_) + before[0];
    for (std::size_t k = 2; k < depth_; ++k) key = (key << width_) + before[k];
    Next& next = place_of(key);
    std::optional<std::size_t> answer;
    if (next.round == round_ && next.key == key) answer = next.value;
    next = {key, round_, static_cast<std::uint8_t>(value)};
    return answer;
  }

 private:
  struct Next {
    std::uint64_t key = 0;
    std::uint16_t round = 0;  // 64 bytes have 64 × 8 × 8 × 2 fields at most, each met twice
    std::uint8_t value = 0;
  };
  // Two values have a place of their own; of more, those that meet at one move on to the next.
  Next& place_of(std::uint64_t key) {
    if (depth_ == 2) return next_[key];
    std::size_t place = key * 0x9E3779B97F4A7C15U >> 48U;
    for (int tries = 0; tries < 8; ++tries) {
      if (next_[place].round != round_ || next_[place].key == key) break;
      place = (place + 1) % next_.size();
    }
    return next_[place];
  }

  std::uint16_t round_ = 0;
  int width_ = 8;
  std::size_t depth_ = 2;
  std::vector<Next> next_ = std::vector<Next>(256 * 256);
};

// Changes after two values that were met before, and those of them that were foretold.
struct Foretold {
  std::size_t judged = 0;
  std::size_t right = 0;

  void add(bool foretold) {
    ++judged;
    if (foretold) ++right;
  }
  [[nodiscard]] bool at_least(double share, std::size_t least) const {
    return judged >= least && static_cast<double>(right) >= share * static_cast<double>(judged);
  }
  // Whether as many more, all of them right, would not lift it to the share.
  [[nodiscard]] bool lost(double share, std::size_t more) const {
    return static_cast<double>(right + more) < share * static_cast<double>(judged + more);
  }
};

struct Changes {
  std::size_t values = 0;  // different ones
  std::size_t pairs = 0;
  std::size_t changed = 0;
  Foretold all;
  // How often just these bits changed, and how often just these were right: a step a change instead
  // of one a bit.
  std::array<std::uint16_t, 256> changed_bits{};
  std::array<std::uint16_t, 256> right_bits{};

  [[nodiscard]] Foretold of_bit(int bit) const {
    Foretold result;
    for (std::size_t bits = 0; bits < 256; ++bits) {
      if (((bits >> bit) & 1U) == 0) continue;
      result.judged += changed_bits[bits];
      result.right += right_bits[bits];
    }
    return result;
  }
};

bool too_many(std::size_t values, const SurveyRows& rows) {
  return values > most_values || values * 6 > rows.size;
}

// Breaks off where the field cannot become a scheduled one any more.
Changes changes(const SurveyRows& rows, const Span& span, std::size_t depth, Memory& memory) {
  const FieldReader read(span);
  memory.start_field(span.width(), depth);
  Changes result;
  std::array<bool, 256> seen{};
  std::size_t run = 0;  // rows since a break
  Before before{};
  for (std::size_t i = 0; i < rows.size; ++i) {
    const std::size_t value = read(rows.row(i));
    if (!seen[value]) ++result.values;
    seen[value] = true;
    if (too_many(result.values, rows)) break;
    run = rows.follows[i] != 0 ? run + 1 : 0;
    const bool changed = run > 0 && value != before[0];
    if (run > 0) ++result.pairs;
    if (changed) ++result.changed;
    const auto expected = run >= depth ? memory.next(before, value) : std::optional<std::size_t>{};
    // Noise hardly meets the same long row of values twice; a schedule has met all of its own.
    const bool surprise = depth > 2 && run >= depth && !expected && i > rows.size / 2;
    if (surprise && changed) result.all.add(false);
    if (expected && changed) {
      result.all.add(*expected == value);
      const std::size_t moved = value ^ before[0];
      ++result.changed_bits[moved];
      ++result.right_bits[moved & ~(value ^ *expected)];
    }
    std::copy_backward(before.begin(), before.end() - 1, before.end());
    before[0] = value;
    if (i == 255 && result.changed < 16) break;  // too slow to bother
    if (i % 64 == 63 && result.all.lost(least_foretold, rows.size - 1 - i)) break;
  }
  return result;
}

double share(std::size_t part, std::size_t whole) {
  return static_cast<double>(part) / static_cast<double>(whole);
}

// Every bit must keep the schedule: a slow bit of another field beside it does not, and hardly
// shows in the whole.
bool is_scheduled(const Changes& c, const Span& span, const SurveyRows& rows) {
  if (c.values < 2 || too_many(c.values, rows)) return false;
  if (!c.all.at_least(least_foretold, 12) || share(c.changed, c.pairs) < least_change_rate) {
    return false;
  }
  for (int i = 0; i < span.width(); ++i) {
    if (has_bit(rows.moved, bit_index(span.position(i))) &&
        !c.of_bit(i).at_least(least_foretold_bit, 4)) {
      return false;
    }
  }
  return true;
}

bool ends_move(const SurveyRows& rows, const Span& span) {
  return has_bit(rows.moved, bit_index(span.msb)) && has_bit(rows.moved, bit_index(span.lsb));
}

}  // namespace

std::vector<Scheduled> scheduled_fields(const SurveyRows& rows) {
  const SurveyRows few = thinned(rows, rows_looked_at);
  std::vector<Scheduled> fields;
  Memory memory;
  for (int index = 0; index < rows.length * 8; ++index) {
    const BitPosition lsb = bit_at(index);
    for (int width = 1; width <= 8; ++width) {
      for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
        const bool inside = lsb.bit + width <= 8;
        if (inside && order == ByteOrder::little) continue;
        const auto span = Span::from_lsb(lsb, width, order);
        if (!span || span->last_byte() >= rows.length || !ends_move(few, *span)) continue;
        // Two values tell where in its round a field is, unless some come more often than others:
        // 0 1 2 3 0 1 4 5. Then a longer memory does, at the price of more frames after each loss.
        double foretold = 0;
        std::size_t values = 0;
        for (const std::size_t depth : {std::size_t{2}, longest_memory}) {
          if (foretold > 0.99) break;
          const Changes found = changes(few, *span, depth, memory);
          if (!is_scheduled(found, *span, few)) continue;
          foretold = std::max(foretold, share(found.all.right, found.all.judged));
          values = found.values;
        }
        if (foretold > 0) fields.push_back({*span, values, foretold});
      }
    }
  }
  return fields;
}

}  // namespace foundling
