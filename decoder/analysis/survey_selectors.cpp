// For each scheduled field: how often do the other bits change from the frame before (r), and how
// often from the last frame with the same value of the field (q)? Under a selector q is lower in
// many bits, because the frames before had another layout. Signals only ever have q >= r, since
// the last frame with the same value is further back. The field chosen has the largest fall; among
// fields that split the frames alike, the coarsest split that loses nothing.
#include "decoder/analysis/survey_selectors.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "decoder/analysis/survey_schedule.h"

namespace foundling {
namespace {

constexpr std::size_t rows_looked_at = 16'384;
constexpr int least_bits = 2;       // that move less, beyond chance
constexpr double least_fall = 0.3;  // changes a frame, over all bits
constexpr double significant = 5;   // standard errors, a bit
constexpr double as_good = 0.6;     // of the best fall is worth a closer look

// How often bits change over some pairs of rows.
struct Pairs {
  BitTally tally;
  std::uint64_t pairs = 0;

  void add(const SurveyRows& rows, std::size_t a, std::size_t b) {
    ++pairs;
    for (int w = 0; w < rows.words; ++w) tally.add(w, rows.row(a)[w] ^ rows.row(b)[w]);
  }
  [[nodiscard]] double rate(int index) const {
    return pairs == 0 ? 0 : static_cast<double>(tally.count(index)) / static_cast<double>(pairs);
  }
  [[nodiscard]] double variance(int index) const {  // of the rate; never quite zero
    const auto n = static_cast<double>(pairs);
    const double p = (static_cast<double>(tally.count(index)) + 1) / (n + 2);
    return p * (1 - p) / n;
  }
};

Pairs neighbours(const SurveyRows& rows) {
  Pairs result;
  for (std::size_t i = 1; i < rows.size; ++i) {
    if (rows.follows[i] != 0) result.add(rows, i - 1, i);
  }
  return result;
}

// Pairs of rows with the same value of the field, next to each other among those rows.
Pairs held(const SurveyRows& rows, const Span& field) {
  const FieldReader read(field);
  std::array<std::size_t, 256> last{};
  Pairs result;
  for (std::size_t i = 0; i < rows.size; ++i) {
    const std::uint64_t value = read(rows.row(i));
    // Across a break of the recording too much time has passed.
    if (i > 0 && rows.follows[i] == 0) last.fill(0);
    if (last[value] != 0) result.add(rows, last[value] - 1, i);
    last[value] = i + 1;
  }
  return result;
}

// Pairs that `coarse` puts together and `fine` keeps apart.
Pairs mixed(const SurveyRows& rows, const Span& coarse, const Span& fine) {
  const FieldReader read(coarse);
  const FieldReader read_fine(fine);
  std::array<std::size_t, 256> last{};
  Pairs result;
  for (std::size_t i = 0; i < rows.size; ++i) {
    const std::uint64_t value = read(rows.row(i));
    if (i > 0 && rows.follows[i] == 0) last.fill(0);
    if (last[value] != 0 && read_fine(rows.row(last[value] - 1)) != read_fine(rows.row(i))) {
      result.add(rows, last[value] - 1, i);
    }
    last[value] = i + 1;
  }
  return result;
}

struct Fall {
  double changes = 0;  // fewer a frame, summed over the bits that change less beyond chance
  int bits = 0;        // of them, outside the field
};

// The field's own bits count in the sum, as bits that do not change at all when it is held: else
// a part of a selector would be credited with the rest of it.
Fall fall(const Pairs& free, const Pairs& tied, const BitMask& judged, const Span& field,
          int length) {
  Fall result;
  for (int index = 0; index < length * 8; ++index) {
    if (!has_bit(judged, index)) continue;
    const double less = free.rate(index) - tied.rate(index);
    const double error = std::sqrt(free.variance(index) + tied.variance(index));
    if (less < significant * error || less < 0.25 * free.rate(index)) continue;
    result.changes += less;
    if (!field.contains(bit_at(index))) ++result.bits;
  }
  return result;
}

struct Candidate {
  Scheduled field;
  Pairs tied;
  Fall fall;
};

class Search {
 public:
  Search(const SurveyRows& rows, const std::vector<CounterFinding>& counters,
         const std::vector<Span>& clocks, const BitMask& owned)
      : rows_(rows), counters_(counters), clocks_(clocks), free_(neighbours(rows)) {
    for (std::size_t w = 0; w < payload_words; ++w) others_[w] = rows.moved[w] & ~owned[w];
  }

  std::optional<Span> best() {
    double most = 0;
    for (const Scheduled& field : scheduled_fields(rows_)) {
      if (is_of_a_clock(field.span)) continue;
      Candidate candidate{field, held(rows_, field.span), {}};
      if (candidate.tied.pairs < 20) continue;
      candidate.fall = fall(free_, candidate.tied, others_, field.span, rows_.length);
      if (candidate.fall.bits < least_bits || candidate.fall.changes < least_fall) continue;
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
  bool is_of_a_clock(const Span& span) const {
    return std::any_of(clocks_.begin(), clocks_.end(),
                       [&](const Span& clock) { return clock.overlaps(span); });
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
  // other way round. It must be as well scheduled: a neighbour's bits only make it less so.
  const Candidate& winner() const {
    const Candidate* best = candidates_.data();
    double schedule = best->field.foretold;
    std::size_t beaten = 0;
    for (bool again = true; again && beaten < candidates_.size(); ++beaten) {
      again = false;
      for (const Candidate& c : candidates_) {
        if (&c == best || c.field.foretold < schedule - 0.01) continue;
        if (!keeps_apart(*best, c) || keeps_apart(c, *best) || !moves_less(*best, c)) continue;
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
    const Fall gain = fall(crossed, fine.tied, others_, fine.field.span, rows_.length);
    return gain.bits >= least_bits && gain.changes >= least_fall;
  }

  // Whether the other bits, those outside both, move less still.
  bool moves_less(const Candidate& than, const Candidate& c) const {
    BitMask both{};
    set_span(both, than.field.span);
    set_span(both, c.field.span);
    BitMask judged = others_;
    for (std::size_t w = 0; w < payload_words; ++w) judged[w] &= ~both[w];
    const double before = fall(free_, than.tied, judged, than.field.span, rows_.length).changes;
    const double after = fall(free_, c.tied, judged, c.field.span, rows_.length).changes;
    return after > 1.02 * before;
  }

  const SurveyRows& rows_;
  const std::vector<CounterFinding>& counters_;
  const std::vector<Span>& clocks_;
  Pairs free_;
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
                                               const std::vector<Span>& clocks,
                                               const BitMask& owned) {
  const SurveyRows few = thinned(rows, rows_looked_at);
  const auto core = Search(few, counters, clocks, owned).best();
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
