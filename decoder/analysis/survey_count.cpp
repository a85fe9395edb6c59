// The differences of neighbouring values must be nearly all one step a, or the wrap a - M. A width
// w is right only if M needs it, 2^(w-1) < M <= 2^w: one bit too few still counts, one too many
// does not need the bit. The rest may be lost frames, a few steps at once.
//
// The gain is a difference of two description lengths. Without a counter each bit is written down
// by when it changes: n h(changes / n), h the binary entropy. With it there are the exceptions:
// where they are, n h(exceptions / n), and how far each goes, which is cheap for a few steps.
#include "decoder/analysis/survey_count.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <map>
#include <tuple>
#include <utility>

namespace foundling {
namespace {

constexpr double least_share = 0.85;
constexpr double most_repeated = 0.05;  // losing frames does not make a value repeat
constexpr double most_beyond = 0.05;    // rows with other values, as many as may repeat
constexpr std::int64_t most_lost = 64;  // frames in a row

struct Differences {
  std::map<std::int64_t, std::size_t> seen;
  std::size_t pairs = 0;

  [[nodiscard]] std::size_t times(std::int64_t difference) const {
    const auto at = seen.find(difference);
    return at == seen.end() ? 0 : at->second;
  }
};

// Counts differences as they come: small ones, which are most, in an array.
class DifferenceCounts {
 public:
  void add(std::int64_t difference) {
    std::size_t& times = difference >= -near && difference <= near
                             ? near_[static_cast<std::size_t>(difference + near)]
                             : far_[difference];
    kinds_ += times == 0 ? 1U : 0U;
    ++times;
  }
  [[nodiscard]] std::size_t kinds() const { return kinds_; }
  [[nodiscard]] std::size_t zeros() const { return near_[near]; }
  // A step and a wrap may be any two: how often the two most frequent were met.
  [[nodiscard]] std::size_t most_of_two() const {
    std::size_t most = 0;
    std::size_t second = 0;
    const auto take = [&](std::size_t times) {
      if (times > most) std::swap(times, most);
      second = std::max(second, times);
    };
    for (const std::size_t times : near_) take(times);
    for (const auto& [difference, times] : far_) take(times);
    return most + second;
  }
  std::map<std::int64_t, std::size_t> all() && {
    for (std::int64_t d = -near; d <= near; ++d) {
      const std::size_t times = near_[static_cast<std::size_t>(d + near)];
      if (times > 0) far_.emplace(d, times);
    }
    return std::move(far_);
  }

 private:
  static constexpr std::int64_t near = 64;
  std::array<std::size_t, 2 * near + 1> near_{};
  std::map<std::int64_t, std::size_t> far_;
  std::size_t kinds_ = 0;
};

enum class Wanted {
  any,      // whatever the differences are
  counter,  // nothing where the rows to come cannot make it a counter any more
};

// Nothing where the field is too irregular.
std::optional<Differences> differences(const SurveyRows& rows, const Span& span, Wanted wanted) {
  constexpr std::size_t too_many_kinds = 4096;
  constexpr std::size_t pairs_between_looks = 64;
  constexpr std::size_t pairs_between_long_looks = 1024;  // at all the differences
  const FieldReader read(span);
  Differences result;
  DifferenceCounts counts;
  std::int64_t before = 0;
  for (std::size_t i = 0; i < rows.size; ++i) {
    const auto value = static_cast<std::int64_t>(read(rows.row(i)));
    const std::int64_t difference = value - before;
    before = value;
    if (rows.follows[i] == 0) continue;
    counts.add(difference);
    ++result.pairs;
    if (result.pairs <= 64 && counts.kinds() > 41) return {};  // no counter is so irregular
    if (counts.kinds() > too_many_kinds) return {};
    if (wanted == Wanted::any || result.pairs % pairs_between_looks != 0) continue;
    const std::size_t to_come = rows.size - 1 - i;
    const auto in_all = static_cast<double>(result.pairs + to_come);
    if (static_cast<double>(counts.zeros()) > most_repeated * in_all) return {};
    if (result.pairs % pairs_between_long_looks == 0 &&
        static_cast<double>(counts.most_of_two() + to_come) < least_share * in_all) {
      return {};
    }
  }
  result.seen = std::move(counts).all();
  return result;
}

// A counter by one wraps onto one value always, the lowest of M (counting down, the highest), and
// says nothing beyond these M, but for a start-up's or a lost measurement's codes.
bool keeps_to_its_values(const SurveyRows& rows, const Span& span, std::int64_t wrap,
                         std::uint64_t modulus) {
  const FieldReader read(span);
  std::map<std::uint64_t, std::size_t> landings;
  std::size_t total = 0;
  std::uint64_t value = 0;
  for (std::size_t i = 0; i < rows.size; ++i) {
    const std::uint64_t before = std::exchange(value, read(rows.row(i)));
    if (rows.follows[i] == 0 || static_cast<std::int64_t>(value - before) != wrap) continue;
    ++landings[value];
    ++total;
  }
  const auto usual = std::max_element(landings.begin(), landings.end(),
                                      [](auto& a, auto& b) { return a.second < b.second; });
  if (static_cast<double>(usual->second) < 0.8 * static_cast<double>(total)) return false;
  std::size_t beyond = 0;
  for (std::size_t i = 0; i < rows.size; ++i) {
    const std::uint64_t now = read(rows.row(i));
    const std::uint64_t above = wrap < 0 ? now - usual->first : usual->first - now;
    beyond += above >= modulus ? 1U : 0U;  // below the first as well: unsigned
  }
  return static_cast<double>(beyond) <= most_beyond * static_cast<double>(rows.size);
}

// Without a wrap, every difference is a step or, over lost frames, a few: upper bits that move by
// themselves are another field's.
bool only_goes_on(const Differences& found, std::int64_t step) {
  return std::all_of(found.seen.begin(), found.seen.end(), [step](const auto& entry) {
    const auto [difference, times] = entry;
    return (difference < 0) == (step < 0) && std::abs(difference) <= most_lost * std::abs(step);
  });
}

// A counter that loses frames jumps by whole steps. A ramp of three a frame also makes twos and
// fours.
bool is_uneven(const Differences& found, std::int64_t step) {
  if (std::abs(step) < 3) return false;
  const std::size_t near = found.times(step - 1) + found.times(step + 1);
  return near > 2 && near * 50 > found.pairs;
}

double entropy(double part, double whole) {
  if (part <= 0 || part >= whole) return 0;
  const double p = part / whole;
  return -p * std::log2(p) - (1 - p) * std::log2(1 - p);
}

bool is_a_few_steps(std::int64_t difference, const Count& count) {
  const auto modulus = static_cast<std::int64_t>(count.modulus);
  for (std::int64_t lost = 2; lost <= most_lost; ++lost) {
    const std::int64_t steps = lost * count.step % modulus;
    if ((steps - difference) % modulus == 0) return true;
  }
  return false;
}

double gain_of(const Differences& found, const Count& count, std::int64_t wrap, const Span& span,
               const Toggles& rates) {
  const int width = span.width();
  const auto pairs = static_cast<double>(found.pairs);
  double gain = 0;
  for (int i = 0; i < width; ++i) {
    gain += pairs * entropy(rates.rate(bit_index(span.position(i))), 1);
  }
  std::size_t exceptions = 0;
  double jumps = 0;
  for (const auto& [difference, times] : found.seen) {
    if (difference == count.step || (count.wrapped && difference == wrap)) continue;
    exceptions += times;
    jumps += static_cast<double>(times) * (1 + (is_a_few_steps(difference, count) ? 6 : width));
  }
  const double place_and_order = 12;
  const bool round = count.modulus == std::uint64_t{1} << width;
  return gain - pairs * entropy(static_cast<double>(exceptions), pairs) - jumps - place_and_order -
         width - (round ? 0 : width);
}

}  // namespace

std::optional<Count> count_of(const SurveyRows& rows, const Span& span, const Toggles& rates) {
  const auto found = differences(rows, span, Wanted::counter);
  if (!found || found->pairs < least_counted_pairs) return {};
  const std::uint64_t all = std::uint64_t{1} << span.width();
  std::int64_t step = 0;
  std::size_t steps = 0;
  for (const auto& [difference, times] : found->seen) {
    if (times > steps) std::tie(step, steps) = std::pair{difference, times};
  }
  if (step == 0 || is_uneven(*found, step)) return {};
  std::int64_t wrap = 0;
  std::size_t wraps = 0;
  for (const auto& [difference, times] : found->seen) {
    const auto modulus = static_cast<std::uint64_t>(std::abs(step - difference));
    if (modulus > all / 2 && modulus <= all && times > wraps && (difference < 0) != (step < 0)) {
      std::tie(wrap, wraps) = std::pair{difference, times};
    }
  }
  const auto pairs = static_cast<double>(found->pairs);
  Count count{step, all, wraps > 0, static_cast<double>(steps + wraps) / pairs, 0};
  if (count.share < least_share || static_cast<double>(found->times(0)) > most_repeated * pairs) {
    return {};
  }
  if (wraps > 0) count.modulus = static_cast<std::uint64_t>(std::abs(step - wrap));
  const double expected = pairs * std::abs(static_cast<double>(step)) /
                          static_cast<double>(count.modulus);  // wraps; none may be due yet
  if (wraps == 0 ? expected > 1 || !only_goes_on(*found, step)
                 : static_cast<double>(wraps) < 0.5 * expected - 1) {
    return {};
  }
  if (wraps > 0 && std::abs(step) == 1 && !keeps_to_its_values(rows, span, wrap, count.modulus)) {
    return {};
  }
  count.gain = gain_of(*found, count, wrap, span, rates);
  if (wraps > 0 && std::abs(wrap) < std::abs(step)) count.step = wrap;
  return count;
}

// It shows in the bit below: it always errs to the same side, where a bit of another field goes
// both ways.
bool is_top_of_a_ramp(const SurveyRows& rows, const Span& span, const Count& count) {
  const int width = span.width() + 1;
  const int below = span.order() == ByteOrder::little || span.lsb.bit > 0
                        ? bit_index(span.lsb) - 1
                        : bit_index(span.lsb) + 15;  // big-endian, on to the next byte's top bit
  if (below < 0 || below >= rows.length * 8 || !has_bit(rows.moved, below)) return false;
  const auto wider = Span::from_lsb(bit_at(below), width, span.order());
  const auto found = wider ? differences(rows, *wider, Wanted::any) : std::nullopt;
  if (!found) return false;
  const auto up = static_cast<double>(found->times(2 * count.step + 1));
  const auto down = static_cast<double>(found->times(2 * count.step - 1));
  return std::abs(up - down) > std::max(3.0, 0.5 * (up + down));
}

}  // namespace foundling
