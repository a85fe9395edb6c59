// For each scheduled field: how often are the other bits foretold wrongly from the frames before
// (r), and how often from the last frame with the same value of the field (q)? Under a selector q
// is lower in many bits, because the frames before had another layout. Signals have q >= r, since
// the last frame with the same value is further back. The field chosen has the largest fall; among
// fields that split the frames alike, the coarsest split that loses nothing.
#include "decoder/analysis/survey_selectors.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <map>
#include <memory>
#include <set>
#include <utility>

#include "decoder/analysis/survey_pairs.h"
#include "decoder/analysis/survey_schedule.h"

namespace foundling {
namespace {

constexpr std::size_t rows_looked_at = 16'384;
constexpr int least_bits = 2;       // that move less, beyond chance
constexpr double least_fall = 0.3;  // changes a frame, over all bits
constexpr double significant = 5;   // standard errors, a bit
constexpr std::size_t most_parts = 4;
constexpr std::size_t pairs_a_part = 30;
constexpr double as_good = 0.6;            // of the best fall is worth a closer look
constexpr double better_scheduled = 0.02;  // of the changes

// How wrongly the other bits are foretold without any pages: each bit by the better of the row
// before and of the ramp that the two rows before are on. A ramp that happens to move by a power of
// two in a round of some counter changes few bits from round to round, as a page does; but it can
// be carried on.
class Unpaged {
 public:
  Unpaged(const SurveyRows& rows, Stretch stretch)
      : ways_{neighbours(rows, stretch), carried_on(rows, stretch, ByteOrder::big),
              carried_on(rows, stretch, ByteOrder::little)} {}
  [[nodiscard]] const Pairs& of(int index) const {
    const Pairs* best = &ways_[0];
    for (const Pairs& way : ways_) {
      if (way.pairs > 0 && way.rate(index) < best->rate(index)) best = &way;
    }
    return *best;
  }

 private:
  std::array<Pairs, 3> ways_;
};

struct Fall {
  double changes = 0;  // fewer a frame, summed over the bits that change less beyond chance
  int bits = 0;        // of them, outside the field
  BitMask where{};     // the same
};

// The field's own bits count in the sum, as bits that do not change at all when it is held: else
// a part of a selector would be credited with the rest of it.
template <typename Free>
Fall fall(const Free& free, const Pairs& tied, const BitMask& judged, const Span& field,
          int length) {
  Fall result;
  for (int index = 0; index < length * 8; ++index) {
    if (!has_bit(judged, index)) continue;
    const Pairs& before = free(index);
    const double less = before.rate(index) - tied.rate(index);
    const double error = std::sqrt(before.variance(index) + tied.variance(index));
    if (less < significant * error || less < 0.25 * before.rate(index)) continue;
    result.changes += less;
    if (field.contains(bit_at(index))) continue;
    ++result.bits;
    set_bit(result.where, index);
  }
  return result;
}

// The sum of the other bytes less this one never changes. A sum over too little data to be claimed
// as a checksum is still no page's contents, though it changes as little as they do.
bool adds_up(const SurveyRows& rows, int byte) {
  const auto excess = [&](std::size_t i) {
    unsigned sum = 2U * (256U - rows.byte(i, byte));
    for (int b = 0; b < rows.length; ++b) sum += rows.byte(i, b);
    return sum % 256;
  };
  for (std::size_t i = 1; i < rows.size; ++i) {
    if (excess(i) != excess(0)) return false;
  }
  return true;
}

bool has_moved(const SurveyRows& rows, int byte) {
  return ((rows.moved[static_cast<std::size_t>(byte / 8)] >> (byte % 8 * 8)) & 0xFFU) != 0;
}

// A few bytes side by side that follow from a counter may be a check over data that stood still.
// The contents of a page are told from it by changes that are small, as those of measured values.
bool could_be_a_check(const SurveyRows& rows, const Span& field, const BitMask& where) {
  int first = -1;
  int last = -1;
  for (int index = 0; index < rows.length * 8; ++index) {
    if (!has_bit(where, index)) continue;
    if (first < 0) first = index / 8;
    last = index / 8;
  }
  if (last - first >= 2) return false;
  const FieldReader read(field);
  std::array<std::size_t, 256> before{};
  int changes = 0;
  int small = 0;
  for (std::size_t i = 0; i < rows.size; ++i) {
    const std::uint64_t value = read(rows.row(i));
    for (int byte = first; before[value] != 0 && byte <= last; ++byte) {
      // Modulo the byte, to the nearer side.
      const int difference =
          (rows.byte(i, byte) + 384 - rows.byte(before[value] - 1, byte)) % 256 - 128;
      if (difference == 0) continue;
      ++changes;
      small += std::abs(difference) <= 16 ? 1 : 0;  // an eighth of those of a check
    }
    before[value] = i + 1;
  }
  return changes < 20 || 2 * small < changes;
}

// The middle bits of a ramp keep a schedule of a kind as well: each time they run over, and at no
// other time, the bit above changes. Asked of bits in two bytes, where selectors are rare.
bool carries_over(const SurveyRows& rows, const Span& field) {
  if (field.order() == ByteOrder::single) return false;
  const auto wider = Span::from_lsb(field.lsb, field.width() + 1, field.order());
  if (!wider || wider->last_byte() >= rows.length) return false;
  const FieldReader read(field);
  const FieldReader read_above({wider->msb, wider->msb});
  const auto half = std::int64_t{1} << (field.width() - 1);
  std::size_t overruns = 0;
  std::size_t carried = 0;  // overruns with which the bit above changed
  std::size_t others = 0;   // its other changes
  for (std::size_t i = 1; i < rows.size; ++i) {
    if (rows.follows[i] == 0) continue;
    const auto step = static_cast<std::int64_t>(read(rows.row(i))) -
                      static_cast<std::int64_t>(read(rows.row(i - 1)));
    const bool over = std::abs(step) >= half;
    const bool changed = read_above(rows.row(i)) != read_above(rows.row(i - 1));
    if (over) ++overruns;
    if (changed) ++(over ? carried : others);
  }
  return overruns >= 8 && carried * 10 >= overruns * 9 && others * 10 <= carried;
}

struct Candidate {
  Scheduled field;
  Pairs tied;
  Fall fall;
};

class Search {
 public:
  Search(const SurveyRows& rows, const std::vector<CounterFinding>& counters,
         const std::vector<Span>& taken, const BitMask& owned)
      : rows_(rows), counters_(counters), taken_(taken), free_(rows, {0, rows.size}) {
    BitMask explained = owned;
    for (int byte = 0; byte < rows.length; ++byte) {
      const auto at = static_cast<std::uint8_t>(byte);
      const Span whole{{at, 7}, {at, 0}};
      if (!has_moved(rows, byte) || !adds_up(rows, byte)) continue;
      set_span(explained, whole);
      taken_.push_back(whole);
    }
    for (std::size_t w = 0; w < payload_words; ++w) others_[w] = rows.moved[w] & ~explained[w];
  }

  std::optional<Span> best() {
    double most = 0;
    for (const Scheduled& field : scheduled_fields(rows_)) {
      if (is_anothers(field.span) || carries_over(rows_, field.span)) continue;
      Candidate candidate{field, held(rows_, {0, rows_.size}, field.span), {}};
      if (candidate.tied.pairs < 20) continue;
      candidate.fall = gain(free_, candidate.tied, field.span);
      if (!is_enough(candidate.fall) || !lasts(candidate) ||
          could_be_a_check(rows_, field.span, candidate.fall.where)) {
        continue;
      }
      most = std::max(most, candidate.fall.changes);
      candidates_.push_back(candidate);
    }
    std::erase_if(candidates_, [most](const auto& c) { return c.fall.changes < as_good * most; });
    if (candidates_.empty()) return {};
    std::stable_sort(candidates_.begin(), candidates_.end(),
                     [this](const auto& a, const auto& b) { return order(a) < order(b); });
    return winner().field.span;
  }

 private:
  // Of a checksum or a clock, or of a counter with bits left over.
  bool is_anothers(const Span& span) const {
    return std::any_of(taken_.begin(), taken_.end(),
                       [&](const Span& other) { return other.overlaps(span); }) ||
           std::any_of(counters_.begin(), counters_.end(), [&](const CounterFinding& counter) {
             return counter.span.overlaps(span) && !covers(span, counter.span);
           });
  }

  static bool covers(const Span& wide, const Span& part) {
    for (int i = 0; i < part.width(); ++i) {
      if (!wide.contains(part.position(i))) return false;
    }
    return true;
  }

  static bool is_enough(const Fall& fall) {
    return fall.bits >= least_bits && fall.changes >= least_fall;
  }

  Fall gain(const Unpaged& free, const Pairs& tied, const Span& field) const {
    return fall([&](int index) -> const Pairs& { return free.of(index); }, tied, others_, field,
                rows_.length);
  }

  // Pages differ all the time, a coincidence of rates only for a while: in all parts of the
  // recording but one, bits outside the field must change less.
  bool lasts(const Candidate& c) {
    const std::size_t parts = std::min<std::size_t>(most_parts, c.tied.pairs / pairs_a_part);
    std::size_t failed = 0;
    for (std::size_t p = 0; p < parts; ++p) {
      const Stretch part{rows_.size * p / parts, rows_.size * (p + 1) / parts};
      const Fall there = gain(free_of(part), held(rows_, part, c.field.span), c.field.span);
      if (there.bits < least_bits || there.changes < 0.25 * c.fall.changes) ++failed;
    }
    return failed <= (parts > 2 ? 1 : 0);
  }

  // The same for every candidate, and dear: kept.
  const Unpaged& free_of(Stretch part) {
    const auto [at, is_new] = parts_.try_emplace(std::pair(part.from, part.to));
    if (is_new) at->second = std::make_unique<Unpaged>(rows_, part);
    return *at->second;
  }

  // Fewest values first; then a whole field rather than a part of one, then the earliest.
  std::array<int, 6> order(const Candidate& c) const {
    const Span& s = c.field.span;
    const bool part = std::any_of(counters_.begin(), counters_.end(), [&](const auto& counter) {
      return counter.span.overlaps(s) && counter.span.width() > s.width();
    });
    int neighbours_moving = 0;
    for (int byte = std::min(s.msb.byte, s.lsb.byte); byte <= s.last_byte(); ++byte) {
      for (int bit = 0; bit < 8; ++bit) {
        const BitPosition p{static_cast<std::uint8_t>(byte), static_cast<std::uint8_t>(bit)};
        if (has_bit(others_, bit_index(p)) && !s.contains(p)) ++neighbours_moving;
      }
    }
    return {static_cast<int>(c.field.values),       part ? 1 : 0, neighbours_moving,
            s.order() == ByteOrder::single ? 0 : 1, s.width(),    bit_index(s.msb)};
  }

  // The first in order that no other beats. A field beats another if the frames it keeps apart,
  // and the other holds together, differ more than the frames it holds together, and not the
  // other way round. It must be as well scheduled: a neighbour's bits only make it less so. Where
  // both keep frames apart, as the contents of steady pages and the page number do, the one that
  // is better scheduled wins: contents have their schedule from the page, and their own noise.
  const Candidate& winner() const {
    const Candidate* best = candidates_.data();
    double schedule = best->field.foretold;
    std::size_t beaten = 0;
    for (bool again = true; again && beaten < candidates_.size(); ++beaten) {
      again = false;
      for (const Candidate& c : candidates_) {
        if (&c == best || c.field.foretold < schedule - 0.01) continue;
        if (!keeps_apart(*best, c) || !moves_less(*best, c)) continue;
        if (c.field.foretold < schedule + better_scheduled && keeps_apart(c, *best)) continue;
        best = &c;
        schedule = std::max(schedule, c.field.foretold);
        again = true;
        break;
      }
    }
    return *best;
  }

  bool keeps_apart(const Candidate& coarse, const Candidate& fine) const {
    const Pairs crossed = mixed(rows_, coarse.field.span, fine.field.span);
    if (crossed.pairs < 8 || crossed.pairs * 50 < coarse.tied.pairs) return false;
    return is_enough(fall([&](int) -> const Pairs& { return crossed; }, fine.tied, others_,
                          fine.field.span, rows_.length)) &&
           differ_as_pages_do(crossed, coarse, fine);
  }

  // A field of a page's contents also keeps frames apart that differ: a little, in the bits beside
  // it. Different pages differ as much as one frame and the next.
  bool differ_as_pages_do(const Pairs& crossed, const Candidate& coarse,
                          const Candidate& fine) const {
    double apart = 0;
    double pages = 0;
    const BitMask judged = outside(coarse, fine);
    for (int index = 0; index < rows_.length * 8; ++index) {
      if (!has_bit(judged, index)) continue;
      const double within = fine.tied.rate(index);
      apart += std::max(0.0, crossed.rate(index) - within);
      pages += std::max(0.0, free_.of(index).rate(index) - within);
    }
    return apart > 0.3 * pages;
  }

  BitMask outside(const Candidate& a, const Candidate& b) const {
    BitMask both{};
    set_span(both, a.field.span);
    set_span(both, b.field.span);
    BitMask rest = others_;
    for (std::size_t w = 0; w < payload_words; ++w) rest[w] &= ~both[w];
    return rest;
  }

  // Whether the other bits, those outside both, move less still.
  bool moves_less(const Candidate& than, const Candidate& c) const {
    const BitMask judged = outside(than, c);
    const auto changes = [&](const Candidate& of) {
      const auto free = [&](int index) -> const Pairs& { return free_.of(index); };
      return fall(free, of.tied, judged, of.field.span, rows_.length).changes;
    };
    return changes(c) > 1.02 * changes(than);
  }

  const SurveyRows& rows_;
  const std::vector<CounterFinding>& counters_;
  std::vector<Span> taken_;
  Unpaged free_;
  std::map<std::pair<std::size_t, std::size_t>, std::unique_ptr<Unpaged>> parts_;
  BitMask others_{};
  std::vector<Candidate> candidates_;
};

// Still bits beside it belong to the same byte, or nibble, unless they are another field's.
Span with_still_bits(const SurveyRows& rows, const Span& core) {
  if (core.order() != ByteOrder::single) return core;
  const auto still = [&](int low, int high) {
    for (int bit = low; bit <= high; ++bit) {
      if (has_bit(rows.moved, core.msb.byte * 8 + bit) &&
          (bit < core.lsb.bit || bit > core.msb.bit))
        return false;
    }
    return true;
  };
  Span wide = core;
  const int first = core.lsb.bit >= 4 ? 4 : 0;
  const int last = core.msb.bit <= 3 ? 3 : 7;
  if (first == 0 && still(0, 7)) {
    wide.lsb.bit = 0;
    wide.msb.bit = 7;
  } else if (still(first, last)) {
    wide.lsb.bit = static_cast<std::uint8_t>(first);
    wide.msb.bit = static_cast<std::uint8_t>(last);
  }
  return wide;
}

}  // namespace

std::optional<SelectorFinding> survey_selector(const SurveyRows& rows,
                                               const std::vector<CounterFinding>& counters,
                                               const std::vector<Span>& taken,
                                               const BitMask& owned) {
  const SurveyRows few = thinned(rows, rows_looked_at);
  const auto core = Search(few, counters, taken, owned).best();
  if (!core) return {};
  SelectorFinding finding{with_still_bits(rows, *core), {}};
  if (finding.span.width() < 2) return {};  // a bit that takes turns, among others that move
  const FieldReader read(finding.span);
  std::set<std::uint64_t> values;
  for (std::size_t i = 0; i < rows.size; ++i) values.insert(read(rows.row(i)));
  finding.values.assign(values.begin(), values.end());
  return finding;
}

}  // namespace foundling
