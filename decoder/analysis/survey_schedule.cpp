#include "decoder/analysis/survey_schedule.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace foundling {
namespace {

constexpr std::size_t rows_looked_at = 4096;
constexpr std::size_t most_values = 128;
constexpr double least_change_rate = 0.15;
constexpr double least_foretold = 0.8;  // of the changes; the rest may be lost frames
constexpr double least_foretold_bit = 0.6;
// Of a schedule that only a longer memory knows, two values still foretell two steps of three: one
// a round is in doubt. Of noise they foretell half at most.
constexpr double least_for_longer = 0.55;

// What followed two values last time; a stamp a field, so that nothing needs clearing. A narrow
// field keeps to the table's start, which stays in the processor's nearest cache.
class PairMemory {
 public:
  static constexpr std::size_t depth = 2;
  static constexpr bool knows_surprise = false;
  void start_field() { ++round_; }
  // What followed these two values last time, if they were met before; and remembers `value`.
  std::optional<std::size_t> next(std::uint64_t two_before, std::size_t value) {
    Next& next = next_[two_before];
    std::optional<std::size_t> answer;
    if (next.round == round_) answer = next.value;
    next = {round_, static_cast<std::uint8_t>(value)};
    return answer;
  }

 private:
  struct Next {
    std::uint16_t round = 0;  // 64 bytes have 64 × 8 × 8 × 2 fields at most
    std::uint8_t value = 0;
  };
  std::uint16_t round_ = 0;
  std::vector<Next> next_ = std::vector<Next>(256 * 256);
};

// What followed five values last time. Those that meet at one place move on to the next.
class LongMemory {
 public:
  static constexpr std::size_t depth = 5;
  // Noise hardly meets the same long row of values twice; a schedule has met all of its own.
  static constexpr bool knows_surprise = true;
  void start_field() { ++round_; }
  std::optional<std::size_t> next(std::uint64_t before, std::size_t value) {
    std::size_t place = before * 0x9E3779B97F4A7C15U >> 48U;
    for (int tries = 0; tries < 8; ++tries) {
      if (next_[place].round != round_ || next_[place].before == before) break;
      place = (place + 1) % next_.size();
    }
    Next& next = next_[place];
    std::optional<std::size_t> answer;
    if (next.round == round_ && next.before == before) answer = next.value;
    next = {before, round_, static_cast<std::uint8_t>(value)};
    return answer;
  }

 private:
  struct Next {
    std::uint64_t before = 0;
    std::uint16_t round = 0;
    std::uint8_t value = 0;
  };
  std::uint16_t round_ = 0;
  std::vector<Next> next_ = std::vector<Next>(256 * 256);
};

// Changes after values that were met before, and those of them that were foretold.
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
  // Two standard errors, at most, below the share: what comes will not lift it there.
  [[nodiscard]] bool clearly_below(double share) const {
    const auto n = static_cast<double>(judged);
    return judged >= 64 && static_cast<double>(right) < share * n - std::sqrt(n);
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
  bool whole = false;  // of all rows: not broken off
  bool still = false;  // too slow, or with too many values: so also for a longer memory
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

double share(std::size_t part, std::size_t whole) {
  return static_cast<double>(part) / static_cast<double>(whole);
}

bool too_many(std::size_t values, const SurveyRows& rows) {
  return values > most_values || values * 6 > rows.size;
}

// Breaks off where the field cannot become a scheduled one any more.
template <typename Memory>
Changes changes(const SurveyRows& rows, const Span& span, Memory& memory) {
  const FieldReader read(span);
  memory.start_field();
  Changes result;
  std::array<bool, 256> seen{};
  std::size_t run = 0;       // rows since a break
  std::uint64_t before = 0;  // the values before, side by side, the last one in the lowest bits
  const auto width = static_cast<unsigned>(span.width());
  const std::uint64_t one_value = (std::uint64_t{1} << width) - 1;
  const std::uint64_t all_values = (std::uint64_t{1} << (width * Memory::depth)) - 1;
  for (std::size_t i = 0; i < rows.size; ++i) {
    const std::size_t value = read(rows.row(i));
    if (!seen[value]) ++result.values;
    seen[value] = true;
    if (too_many(result.values, rows)) break;
    run = rows.follows[i] != 0 ? run + 1 : 0;
    const std::uint64_t last = before & one_value;
    const bool changed = run > 0 && value != last;
    if (run > 0) ++result.pairs;
    if (changed) ++result.changed;
    if (run >= Memory::depth) {
      const auto expected = memory.next(before, value);
      if (changed && expected) {
        result.all.add(*expected == value);
        const std::size_t moved = value ^ last;
        ++result.changed_bits[moved];
        ++result.right_bits[moved & ~(value ^ *expected)];
      } else if (Memory::knows_surprise && changed && i > rows.size / 2) {
        result.all.add(false);
      }
    }
    before = (before << width | value) & all_values;
    if (i == 255 && result.changed < 16) break;  // too slow to bother
    if (i % 64 == 63 && result.all.lost(least_foretold, rows.size - 1 - i)) return result;
    // Not before the longest rounds came twice: in the first, only what is in doubt was met before.
    if (i % 512 == 511 && result.all.clearly_below(least_for_longer)) return result;
    if (i + 1 == rows.size) result.whole = true;
  }
  result.still = !result.whole || share(result.changed, result.pairs) < least_change_rate;
  return result;
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

// The share of its changes that were foretold; 0 where it is not scheduled.
double foretold_by(const Changes& found, const Span& span, const SurveyRows& rows) {
  return is_scheduled(found, span, rows) ? share(found.all.right, found.all.judged) : 0;
}

bool ends_move(const SurveyRows& rows, const Span& span) {
  return has_bit(rows.moved, bit_index(span.msb)) && has_bit(rows.moved, bit_index(span.lsb));
}

}  // namespace

std::vector<Scheduled> scheduled_fields(const SurveyRows& rows) {
  const SurveyRows few = thinned(rows, rows_looked_at);
  std::vector<Scheduled> fields;
  PairMemory pairs;
  LongMemory rows_of_five;
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
        const Changes found = changes(few, *span, pairs);
        if (found.still || !found.all.at_least(least_for_longer, 1)) continue;
        Scheduled field{*span, found.values, foretold_by(found, *span, few)};
        if (field.foretold < 0.99) {
          const Changes longer = changes(few, *span, rows_of_five);
          const double better = foretold_by(longer, *span, few);
          if (better > field.foretold) field = {*span, longer.values, better};
        }
        if (field.foretold > 0) fields.push_back(field);
      }
    }
  }
  return fields;
}

}  // namespace foundling
