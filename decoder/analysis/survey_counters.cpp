// The lowest bit of a counter with an odd step changes nearly every frame, more often than noise
// does; that picks the few places to look at. There the differences of neighbouring values must be
// nearly all one step a, or the wrap a - M. A width w is right only if M needs it,
// 2^(w-1) < M <= 2^w: one bit too few still counts, one too many does not need the bit.
#include "decoder/analysis/survey_counters.h"

#include <algorithm>
#include <cstdlib>
#include <map>
#include <optional>
#include <tuple>
#include <utility>

namespace foundling {
namespace {

constexpr std::size_t least_pairs = 19;
constexpr double least_share = 0.85;  // of the pairs; the rest may be lost frames
constexpr double least_toggle_rate = 0.6;
constexpr int widest = 32;

struct Count {
  std::int64_t step = 0;
  std::uint64_t modulus = 0;
  bool wrapped = false;
  double share = 0;
};

struct Differences {
  std::map<std::int64_t, std::size_t> seen;
  std::size_t pairs = 0;
};

std::optional<Differences> differences(const SurveyRows& rows, const Span& span) {
  constexpr std::size_t too_many_kinds = 4096;
  const FieldReader read(span);
  Differences result;
  std::int64_t before = 0;
  for (std::size_t i = 0; i < rows.size; ++i) {
    const auto value = static_cast<std::int64_t>(read(rows.row(i)));
    if (rows.follows[i] != 0) {
      ++result.seen[value - before];
      ++result.pairs;
      if (result.pairs == 64 && result.seen.size() > 40) return {};  // no counter is so irregular
      if (result.seen.size() > too_many_kinds) return {};
    }
    before = value;
  }
  return result;
}

// Where a wrap of modulus M lands: always on the lowest value, when the step is one.
bool lands_on_one_value(const SurveyRows& rows, const Span& span, std::int64_t wrap) {
  const FieldReader read(span);
  std::map<std::uint64_t, std::size_t> landings;
  std::size_t total = 0;
  for (std::size_t i = 1; i < rows.size; ++i) {
    if (rows.follows[i] == 0) continue;
    const std::uint64_t value = read(rows.row(i));
    if (static_cast<std::int64_t>(value - read(rows.row(i - 1))) != wrap) continue;
    ++landings[value];
    ++total;
  }
  std::size_t most = 0;
  for (const auto& [value, times] : landings) most = std::max(most, times);
  return static_cast<double>(most) >= 0.8 * static_cast<double>(total);
}

// Without a wrap, every difference is a step or, over lost frames, a few: upper bits that move by
// themselves are another field's.
bool only_goes_on(const Differences& found, std::int64_t step) {
  constexpr std::int64_t most_lost = 64;
  return std::all_of(found.seen.begin(), found.seen.end(), [step](const auto& entry) {
    const auto [difference, times] = entry;
    return (difference < 0) == (step < 0) && std::abs(difference) <= most_lost * std::abs(step);
  });
}

std::optional<Count> counts(const SurveyRows& rows, const Span& span) {
  const auto found = differences(rows, span);
  if (!found || found->pairs < least_pairs) return {};
  const std::uint64_t all = std::uint64_t{1} << span.width();
  std::int64_t step = 0;
  std::size_t steps = 0;
  for (const auto& [difference, times] : found->seen) {
    if (times > steps) std::tie(step, steps) = std::pair{difference, times};
  }
  if (step == 0) return {};
  std::int64_t wrap = 0;
  std::size_t wraps = 0;
  for (const auto& [difference, times] : found->seen) {
    const auto modulus = static_cast<std::uint64_t>(std::abs(step - difference));
    if (modulus > all / 2 && modulus <= all && times > wraps && (difference < 0) != (step < 0)) {
      std::tie(wrap, wraps) = std::pair{difference, times};
    }
  }
  const auto pairs = static_cast<double>(found->pairs);
  Count count{step, all, wraps > 0, static_cast<double>(steps + wraps) / pairs};
  const auto repeats = found->seen.find(0);  // losing frames does not make a value repeat
  if (count.share < least_share ||
      (repeats != found->seen.end() && static_cast<double>(repeats->second) > 0.05 * pairs)) {
    return {};
  }
  if (wraps > 0) count.modulus = static_cast<std::uint64_t>(std::abs(step - wrap));
  const double expected = pairs * std::abs(static_cast<double>(step)) /
                          static_cast<double>(count.modulus);  // wraps; none may be due yet
  if (wraps == 0 ? expected > 1 || !only_goes_on(*found, step)
                 : static_cast<double>(wraps) < 0.5 * expected - 1) {
    return {};
  }
  if (wraps > 0 && std::abs(step) == 1 && !lands_on_one_value(rows, span, wrap)) return {};
  if (wraps > 0 && std::abs(wrap) < std::abs(step)) count.step = wrap;
  return count;
}

// The upper bits of a value that grows by an uneven amount count nearly evenly. They show in the
// bit below: it always errs to the same side, where a bit of another field goes both ways.
bool is_top_of_a_ramp(const SurveyRows& rows, const Span& span, const Count& count) {
  const int width = span.width() + 1;
  const int below = span.order() == ByteOrder::little || span.lsb.bit > 0
                        ? bit_index(span.lsb) - 1
                        : bit_index(span.lsb) + 15;  // big-endian, on to the next byte's top bit
  if (below < 0 || below >= rows.length * 8 || !has_bit(rows.moved, below)) return false;
  const auto wider = Span::from_lsb(bit_at(below), width, span.order());
  const auto found = wider ? differences(rows, *wider) : std::nullopt;
  if (!found) return false;
  const auto times = [&](std::int64_t difference) {
    const auto at = found->seen.find(difference);
    return at == found->seen.end() ? 0.0 : static_cast<double>(at->second);
  };
  const double up = times(2 * count.step + 1);
  const double down = times(2 * count.step - 1);
  return std::abs(up - down) > std::max(3.0, 0.5 * (up + down));
}

struct Candidate {
  Span span;
  Count count;
};

struct Widest {
  std::optional<Candidate> best;
  std::optional<Span> clock;  // grows by more than one at a time and never wraps
};

Widest widest_count(const SurveyRows& rows, BitPosition lsb, ByteOrder order) {
  std::optional<Candidate> best;
  int misses = 0;
  for (int width = 2; width <= widest && misses < 3; ++width) {
    const auto span = Span::from_lsb(lsb, width, order);
    if (!span || span->last_byte() >= rows.length) break;
    if (!has_bit(rows.moved, bit_index(span->msb))) break;
    if (const auto count = counts(rows, *span)) {
      if (!count->wrapped && std::abs(count->step) != 1) return {{}, *span};
      // A wider field must not explain less: a bit beside it that takes turns is another field's.
      if (!best || count->share > best->count.share - 0.02) best = Candidate{*span, *count};
      misses = 0;
    } else {
      ++misses;
    }
  }
  return {best, {}};
}

// Bits of the field that did not move. Below: a field of whole bytes whose low bits stand still
// counts by twos. Above: a counter that has not wrapped yet goes on to the end of its byte.
void take_in_still_bits(const SurveyRows& rows, Candidate& candidate) {
  const Span& span = candidate.span;
  const int below = span.lsb.bit;
  if (below >= 1 && below <= 3 && (span.width() + below) % 8 == 0) {
    bool still = true;
    for (int b = 0; b < below; ++b) still = still && !has_bit(rows.moved, span.lsb.byte * 8 + b);
    if (still) {
      candidate.span.lsb.bit = 0;
      candidate.count.step <<= below;
      candidate.count.modulus <<= below;
      return;
    }
  }
  if (candidate.count.wrapped || span.lsb.bit != 0) return;
  while (candidate.span.msb.bit < 7) {
    BitPosition next = candidate.span.msb;
    ++next.bit;
    if (has_bit(rows.moved, bit_index(next))) return;
    candidate.span.msb = next;
    candidate.count.modulus <<= 1;
  }
}

// The best counter whose lowest frequently changing bit is `lsb`. An even step with an odd modulus
// has a lower bit yet, that changes at the wraps only.
Widest counter_at(const SurveyRows& rows, BitPosition lsb) {
  std::optional<Candidate> best;
  for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
    const Widest at_lsb = widest_count(rows, lsb, order);
    if (at_lsb.clock) return at_lsb;
    auto found = at_lsb.best;
    if (!found) continue;
    if (lsb.bit > 0 && found->count.share < 0.99) {
      const BitPosition lower{lsb.byte, static_cast<std::uint8_t>(lsb.bit - 1)};
      std::optional<Candidate> wider;
      if (has_bit(rows.moved, bit_index(lower))) wider = widest_count(rows, lower, order).best;
      if (wider && wider->count.share > found->count.share &&
          wider->span.width() > found->span.width()) {
        found = wider;
      }
    }
    if (!best || found->span.width() > best->span.width()) best = found;
  }
  if (best && is_top_of_a_ramp(rows, best->span, best->count)) return {};
  if (best) take_in_still_bits(rows, *best);
  return {best, {}};
}

}  // namespace

CounterSurvey survey_counters(const SurveyRows& rows) {
  CounterSurvey result;
  std::vector<Candidate> candidates;
  const Toggles rates = toggles(rows);
  if (rates.pairs < least_pairs) return result;
  for (int index = 0; index < rows.length * 8; ++index) {
    if (rates.rate(index) < least_toggle_rate) continue;
    const Widest found = counter_at(rows, bit_at(index));
    if (found.best) candidates.push_back(*found.best);
    if (found.clock) result.clocks.push_back(*found.clock);
  }
  std::stable_sort(candidates.begin(), candidates.end(),
                   [](const auto& a, const auto& b) { return a.span.width() > b.span.width(); });
  for (const Candidate& c : candidates) {
    const auto meets = [&](const Span& other) { return other.overlaps(c.span); };
    const bool taken =
        std::any_of(result.counters.begin(), result.counters.end(),
                    [&](const CounterFinding& other) { return meets(other.span); }) ||
        std::any_of(result.clocks.begin(), result.clocks.end(), meets);
    if (!taken) result.counters.push_back({c.span, c.count.step, c.count.modulus});
  }
  std::sort(result.counters.begin(), result.counters.end(),
            [](const auto& a, const auto& b) { return a.span < b.span; });
  return result;
}

}  // namespace foundling
