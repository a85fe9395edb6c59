#include "tests/bench/recovery/slips.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>
#include <set>
#include <string>

#include "tests/bench/recovery/slip_kinds.h"

namespace foundling::recovery {
namespace {

constexpr double two_minutes_s = 120;

// As a meter shows it: no digit finer than the instrument's error.
std::string shown_digits(double value, double uncertainty) {
  const int decimals = std::clamp(-static_cast<int>(std::floor(std::log10(uncertainty))), 0, 9);
  char text[40];
  const auto end =
      std::to_chars(text, text + sizeof text, value, std::chars_format::fixed, decimals).ptr;
  return {text, end};
}

double number_of(const std::string& digits) { return std::stod(digits); }

class Slipper {
 public:
  Slipper(RandomBoard& board, Rng& rng) : board_(board), rng_(rng) {}

  void round_all() {
    for (std::size_t c = 0; c < board_.channels.size(); ++c) {
      if (!is_typed_number(c)) continue;
      TrueChannel& truth = board_.truth.channels[c];
      for (std::size_t i = 0; i < truth.honest.size(); ++i) {
        const double rounded = number_of(shown_digits(truth.honest[i].value, truth.uncertainty));
        truth.honest[i].value = board_.channels[c].readings[i].value = rounded;
      }
    }
  }

  void plant(double rate) {
    for (std::size_t c = 0; c < board_.channels.size(); ++c) {
      if (board_.channels[c].channel.kind != ChannelKind::hold) continue;
      const bool is_state = board_.channels[c].channel.is_state();
      for (std::size_t i = 0; i < board_.channels[c].readings.size(); ++i) {
        if (!rng_.chance(rate)) continue;
        is_state ? slip_word(c, i) : slip_number(c, i);
      }
    }
  }

  // Two channels of one kind whose names were mixed up for two minutes.
  void swap_names() {
    std::vector<std::pair<std::size_t, std::size_t>> pairs;
    for (std::size_t a = 0; a < board_.channels.size(); ++a) {
      for (std::size_t b = a + 1; b < board_.channels.size(); ++b) {
        if (is_typed_number(a) && is_typed_number(b) &&
            board_.channels[a].channel.unit == board_.channels[b].channel.unit)
          pairs.emplace_back(a, b);
      }
    }
    if (pairs.empty()) return;
    for (int attempt = 0; attempt < 200; ++attempt) {
      const auto [a, b] = rng_.pick(pairs);
      const std::int64_t end = board_.truth.channels[a].honest.back().t_ns;
      const double latest = std::max(static_cast<double>(end) * 1e-9 - two_minutes_s, 1.0);
      const double from = rng_.uniform(0, latest);
      if (swap_between(a, b, std::llround(from * 1e9), std::llround((from + two_minutes_s) * 1e9)))
        return;
    }
  }

 private:
  [[nodiscard]] bool is_typed_number(std::size_t c) const {
    const Channel& channel = board_.channels[c].channel;
    return channel.kind == ChannelKind::hold && !channel.is_state();
  }

  void slip_word(std::size_t c, std::size_t i) {
    const std::vector<Reading>& honest = board_.truth.channels[c].honest;
    if (i == 0 || honest[i - 1].state == honest[i].state) return;
    board_.channels[c].readings[i].state = honest[i - 1].state;
    note(c, i, Slip::previous);
  }

  void slip_number(std::size_t c, std::size_t i) {
    for (int attempt = 0; attempt < 40; ++attempt) {
      const Slip kind = rng_.pick(std::vector<Slip>{Slip::factor_10, Slip::sign, Slip::digits,
                                                    Slip::previous, Slip::neighbour});
      const std::optional<double> wrong = wrong_value(kind, c, i);
      const TrueChannel& truth = board_.truth.channels[c];
      if (!wrong || std::abs(*wrong - truth.honest[i].value) <= telling_difference(truth)) continue;
      board_.channels[c].readings[i].value = *wrong;
      note(c, i, kind);
      return;
    }
  }

  std::optional<double> wrong_value(Slip kind, std::size_t c, std::size_t i) {
    const std::vector<Reading>& honest = board_.truth.channels[c].honest;
    const double value = honest[i].value;
    switch (kind) {
      case Slip::factor_10:
        return rng_.chance(0.5) ? value * 10 : value / 10;
      case Slip::sign:
        return -value;
      case Slip::digits:
        return number_of(misread(shown_digits(value, board_.truth.channels[c].uncertainty)));
      case Slip::previous:
        if (i == 0) return {};
        return honest[i - 1].value;
      case Slip::neighbour:
        return neighbours_value(c, honest[i].t_ns);
      case Slip::unfit:
        break;
    }
    return {};
  }

  // Two neighbouring digits changed places; now and then one was misread.
  std::string misread(std::string digits) {
    std::vector<std::size_t> places;
    for (std::size_t k = 0; k < digits.size(); ++k) {
      if (digits[k] >= '0' && digits[k] <= '9') places.push_back(k);
    }
    if (places.size() < 2 || rng_.chance(0.3)) {
      char& one = digits[rng_.pick(places)];
      one = static_cast<char>('0' + (one - '0' + rng_.integer(1, 9)) % 10);
      return digits;
    }
    const auto k = static_cast<std::size_t>(rng_.integer(0, static_cast<int>(places.size()) - 2));
    std::swap(digits[places[k]], digits[places[k + 1]]);
    return digits;
  }

  // Of the next channel of the same unit in the table, else of any other.
  std::optional<double> neighbours_value(std::size_t c, std::int64_t t_ns) {
    std::vector<std::size_t> others;
    for (const bool same_unit : {true, false}) {
      for (std::size_t k = 0; k < board_.channels.size(); ++k) {
        const bool same = board_.channels[k].channel.unit == board_.channels[c].channel.unit;
        if (k != c && is_typed_number(k) && same == same_unit) others.push_back(k);
      }
      if (!others.empty()) break;
    }
    if (others.empty()) return {};
    const Reading* other = standing_at(board_, rng_.pick(others), t_ns);
    if (other == nullptr) return {};
    return other->value;
  }

  void note(std::size_t c, std::size_t i, Slip kind) {
    board_.truth.channels[c].slips.push_back({board_.channels[c].readings[i].id, kind});
  }

  // False where a third or more of either channel's readings would be under the wrong name.
  bool swap_between(std::size_t a, std::size_t b, std::int64_t from, std::int64_t until) {
    const auto inside = [&](const Reading& r) { return from <= r.t_ns && r.t_ns < until; };
    for (const std::size_t c : {a, b}) {
      const std::vector<Reading>& readings = board_.channels[c].readings;
      const auto count = std::count_if(readings.begin(), readings.end(), inside);
      if (count == 0 || 3 * count > static_cast<std::ptrdiff_t>(readings.size())) return false;
    }
    std::vector<Reading>& in_a = board_.channels[a].readings;
    std::vector<Reading>& in_b = board_.channels[b].readings;
    const std::vector<Reading> of_a = take(in_a, inside);
    const std::vector<Reading> of_b = take(in_b, inside);
    put_under(b, of_a);
    put_under(a, of_b);
    return true;
  }

  template <typename Inside>
  static std::vector<Reading> take(std::vector<Reading>& from, const Inside& inside) {
    std::vector<Reading> taken;
    std::copy_if(from.begin(), from.end(), std::back_inserter(taken), inside);
    std::erase_if(from, inside);
    return taken;
  }

  void put_under(std::size_t c, const std::vector<Reading>& strange) {
    TrueChannel& truth = board_.truth.channels[c];
    for (const Reading& reading : strange) {
      const Reading* own = standing_at(board_, c, reading.t_ns);
      const bool tells =
          own != nullptr && std::abs(own->value - reading.value) > telling_difference(truth);
      if (tells) truth.slips.push_back({reading.id, Slip::neighbour});
      if (!tells) truth.doubtful.push_back(reading.id);
      board_.channels[c].readings.push_back(reading);
    }
    std::sort(board_.channels[c].readings.begin(), board_.channels[c].readings.end(),
              [](const Reading& x, const Reading& y) { return x.t_ns < y.t_ns; });
  }

  RandomBoard& board_;
  Rng& rng_;
};

}  // namespace

double telling_difference(const TrueChannel& channel) {
  double field = 0;
  for (const TrueField& one : channel.fields) {
    field = std::max(field, 6 * one.noise + one.resolution());
  }
  return 6 * channel.uncertainty + field;
}

void plant_slips(Family family, RandomBoard& board, Rng& rng) {
  if (family < Family::slips_3 || family > Family::swapped) return;
  Slipper slipper(board, rng);
  slipper.round_all();
  if (family == Family::swapped) return slipper.swap_names();
  slipper.plant(family == Family::slips_3 ? 0.03 : 0.10);
}

}  // namespace foundling::recovery
