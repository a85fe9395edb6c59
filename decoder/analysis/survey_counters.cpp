// The lowest bit of a counter with an odd step changes nearly every frame, more often than noise
// does; that picks the few places to look at. From each start fields of many widths, and those that
// count compete: the set of fields, none overlapping, that together shorten the description most.
// So two counters side by side are not one, nor does a counter take in a slow bit beside it.
#include "decoder/analysis/survey_counters.h"

#include <algorithm>
#include <cstdlib>
#include <map>
#include <optional>
#include <utility>

#include "decoder/analysis/survey_count.h"

namespace foundling {
namespace {

constexpr double least_toggle_rate = 0.6;
constexpr double least_gain = 7;  // bits: below one false claim in a hundred messages
constexpr int widest = 32;
constexpr std::size_t most_places = 16;

struct Candidate {
  Span span;
  Count count;
};

// All that starts at one place; at most one of them is the counter.
struct Place {
  std::vector<Candidate> options;  // the best first
  std::optional<Span> clock;       // grows by more than one at a time and never wraps
};

// Which fields count, each looked at once: that takes a walk over all rows.
class Counts {
 public:
  Counts(const SurveyRows& rows, const Toggles& rates) : rows_(rows), rates_(rates) {}
  const std::optional<Count>& of(const Span& span) {
    const auto [at, is_new] = counts_.try_emplace(span);
    if (is_new) at->second = count_of(rows_, span, rates_);
    return at->second;
  }
  bool is_top_of_a_ramp(const Span& span) {
    const auto [at, is_new] = tops_.try_emplace(span);
    if (is_new) at->second = foundling::is_top_of_a_ramp(rows_, span, *of(span));
    return at->second;
  }

 private:
  const SurveyRows& rows_;
  const Toggles& rates_;
  std::map<Span, std::optional<Count>> counts_;
  std::map<Span, bool> tops_;
};

class Places {
 public:
  Places(const SurveyRows& rows, Counts& counts, const BitMask& taken)
      : rows_(rows), counts_(counts), taken_(taken) {}

  // An even step with an odd modulus has a lower bit yet, that changes at the wraps only.
  [[nodiscard]] Place at(BitPosition lsb) const {
    Place place;
    for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
      std::vector<Candidate> found;
      if (!widths(lsb, order, found, place)) return place;
      if (!found.empty() && lsb.bit > 0) {
        widths({lsb.byte, static_cast<std::uint8_t>(lsb.bit - 1)}, order, found, place);
      }
      if (found.empty()) continue;
      const auto best = std::max_element(found.begin(), found.end(), worse);
      if (counts_.is_top_of_a_ramp(best->span)) continue;
      place.options.insert(place.options.end(), found.begin(), found.end());
    }
    std::stable_sort(place.options.begin(), place.options.end(),
                     [](const auto& a, const auto& b) { return worse(b, a); });
    return place;
  }

 private:
  static bool worse(const Candidate& a, const Candidate& b) { return a.count.gain < b.count.gain; }

  bool free_to_move(BitPosition p) const {
    return has_bit(rows_.moved, bit_index(p)) && !has_bit(taken_, bit_index(p));
  }

  // False where a clock was met.
  bool widths(BitPosition lsb, ByteOrder order, std::vector<Candidate>& found, Place& place) const {
    int misses = 0;
    if (!free_to_move(lsb)) return true;
    for (int width = 2; width <= widest && misses < 3; ++width) {
      const auto span = Span::from_lsb(lsb, width, order);
      if (!span || span->last_byte() >= rows_.length || !free_to_move(span->msb)) break;
      const std::optional<Count>& count = counts_.of(*span);
      if (!count) {
        ++misses;
        continue;
      }
      misses = 0;
      if (!count->wrapped && std::abs(count->step) != 1) {
        place = {{}, *span};
        return false;
      }
      if (order == ByteOrder::little && span->order() == ByteOrder::single) continue;  // the same
      // By twos modulo an even number the lowest bit never moves: what moved it is something else.
      if (count->step % 2 == 0 && count->modulus % 2 == 0) continue;
      if (count->gain >= least_gain) found.push_back({*span, *count});
    }
    return true;
  }

  const SurveyRows& rows_;
  Counts& counts_;
  const BitMask& taken_;
};

// The best set of options, none overlapping, at most one a place: all are tried, less the branches
// that cannot catch up.
class Choice {
 public:
  explicit Choice(std::vector<Place> places) : places_(std::move(places)) {
    std::erase_if(places_, [](const Place& p) { return p.options.empty(); });
    std::stable_sort(places_.begin(), places_.end(), [](const Place& a, const Place& b) {
      return a.options[0].count.gain > b.options[0].count.gain;
    });
    if (places_.size() > most_places) places_.resize(most_places);
    rest_.assign(places_.size() + 1, 0);
    for (std::size_t i = places_.size(); i-- > 0;) {
      rest_[i] = rest_[i + 1] + places_[i].options[0].count.gain;
    }
  }

  std::vector<Candidate> best() {
    try_from(0, 0);
    return best_;
  }

 private:
  void try_from(std::size_t place, double gain) {
    if (place == places_.size()) {
      if (gain > most_) most_ = gain, best_ = chosen_;
      return;
    }
    for (const Candidate& option : places_[place].options) {
      if (gain + option.count.gain + rest_[place + 1] <= most_) break;
      const bool free = std::none_of(chosen_.begin(), chosen_.end(), [&](const Candidate& c) {
        return c.span.overlaps(option.span);
      });
      if (!free) continue;
      chosen_.push_back(option);
      try_from(place + 1, gain + option.count.gain);
      chosen_.pop_back();
    }
    if (gain + rest_[place + 1] > most_) try_from(place + 1, gain);
  }

  std::vector<Place> places_;
  std::vector<double> rest_;  // the most that the places from i on can still bring
  std::vector<Candidate> chosen_, best_;
  double most_ = 0;
};

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

}  // namespace

struct CounterSearch::State {
  const SurveyRows& rows;
  Toggles rates;
  Counts counts;

  explicit State(const SurveyRows& all) : rows(all), rates(toggles(all)), counts(rows, rates) {}
};

CounterSearch::CounterSearch(const SurveyRows& rows) : state_(std::make_unique<State>(rows)) {}
CounterSearch::CounterSearch(CounterSearch&&) noexcept = default;
CounterSearch& CounterSearch::operator=(CounterSearch&&) noexcept = default;
CounterSearch::~CounterSearch() = default;

const Toggles& CounterSearch::rates() const { return state_->rates; }

CounterSurvey CounterSearch::find(const BitMask& taken) {
  const SurveyRows& rows = state_->rows;
  const Toggles& rates = state_->rates;
  CounterSurvey result;
  if (rates.pairs < least_counted_pairs) return result;
  const Places places(rows, state_->counts, taken);
  std::vector<Place> found;
  for (int index = 0; index < rows.length * 8; ++index) {
    if (rates.rate(index) < least_toggle_rate) continue;
    found.push_back(places.at(bit_at(index)));
    if (found.back().clock) result.clocks.push_back(*found.back().clock);
  }
  for (Place& place : found) {
    std::erase_if(place.options, [&](const Candidate& c) {
      return std::any_of(result.clocks.begin(), result.clocks.end(),
                         [&](const Span& clock) { return clock.overlaps(c.span); });
    });
  }
  for (Candidate& c : Choice(std::move(found)).best()) {
    take_in_still_bits(rows, c);
    result.counters.push_back({c.span, c.count.step, c.count.modulus});
  }
  std::sort(result.counters.begin(), result.counters.end(),
            [](const auto& a, const auto& b) { return a.span < b.span; });
  return result;
}

}  // namespace foundling
