#include "decoder/touch/evidence.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>

namespace foundling::touch {
namespace {

// Of each turn's stake, what is kept out of the bet: a turn that was forgotten, or done at the
// wrong time, costs a factor of ten at most, which two or three good turns win again.
constexpr double kept = 0.1;
constexpr int delay_reach = 4;  // bins: by how much a hand's delay differs from turn to turn

constexpr int delays = latest_answer + 1;
using Delays = std::array<double, delays>;

class Bet {
 public:
  Bet() { expected_.fill(1.0 / delays); }

  // The factor for the place that was drawn; learns from it.
  double factor(const Moments& moments, const Draw& draw, Followed& found) {
    std::array<double, places> weight{};
    double sum = 0;
    for (int place = 0; place < places; ++place) {
      weight[static_cast<std::size_t>(place)] = weight_of(moments, draw, place);
      sum += weight[static_cast<std::size_t>(place)];
    }
    if (!(sum > 0)) return 1;
    const double share = weight[static_cast<std::size_t>(draw.place)] / sum;
    const double factor = kept + (1 - kept) * share * places;
    if (!draw.taken_back) learn(moments, draw, share, factor > 1, found);
    return draw.taken_back ? std::min(factor, 1.0) : factor;
  }

 private:
  // Over all delays, for the word at a place, and if it rose or fell.
  struct Sums {
    double rising = 0, falling = 0;
  };
  [[nodiscard]] Sums sums_at(const Moments& moments, int place) const {
    const auto first = static_cast<std::size_t>(lead_bins + place * place_bins);
    const float* const rising = moments.rising.data() + first;
    const float* const falling = moments.falling.data() + first;
    Sums sums;
    for (std::size_t delay = 0; delay < expected_.size(); ++delay) {
      sums.rising += expected_[delay] * static_cast<double>(rising[delay]);
      sums.falling += expected_[delay] * static_cast<double>(falling[delay]);
    }
    return sums;
  }
  [[nodiscard]] double weight_of(const Moments& moments, const Draw& draw, int place) const {
    const Sums sums = sums_at(moments, place);
    const double rising = draw.target == 1 ? up_ : down_;
    return (rising * sums.rising + (up_ + down_ - rising) * sums.falling) / (up_ + down_);
  }
  void learn(const Moments& moments, const Draw& draw, double share, bool answered,
             Followed& found) {
    const auto first = static_cast<std::size_t>(lead_bins + draw.place * place_bins);
    const bool to_one = draw.target == 1;
    Delays seen{};
    double sum = 0, up = 0;
    std::size_t best = 0;
    for (std::size_t i = 0; i < seen.size(); ++i) {
      const double rose = expected_[i] * static_cast<double>(moments.rising[first + i]);
      const double fell = expected_[i] * static_cast<double>(moments.falling[first + i]);
      up += (to_one ? rose : fell) * up_;
      seen[i] = to_one ? rose * up_ + fell * down_ : rose * down_ + fell * up_;
      sum += seen[i];
      if (seen[i] > seen[best]) best = i;
    }
    if (!(sum > 0)) return;
    for (int delay = 0; delay < delays; ++delay) {
      constexpr double nothing = 1e-3;  // of the whole
      if (seen[static_cast<std::size_t>(delay)] < nothing * sum) continue;
      for (int near = -delay_reach; near <= delay_reach; ++near) {
        const int to = std::clamp(delay + near, 0, delays - 1);
        const double part = 1.0 / (2 * delay_reach + 1);
        expected_[static_cast<std::size_t>(to)] +=
            share * part * seen[static_cast<std::size_t>(delay)] / sum;
      }
    }
    up_ += share * up / sum;
    down_ += share * (1 - up / sum);
    if (answered) {
      ++found.answered;
      found.delays.push_back(static_cast<int>(best));
      ++(up > sum / 2 ? found.up : found.down);
    }
  }

  Delays expected_{};         // of the answer after the word; not normalised
  double up_ = 1, down_ = 1;  // how often it rose towards state 1, or fell; one turn of each given
};

}  // namespace

Followed follow(const History& history, std::span<const Draw> draws) {
  Followed found;
  Bet bet;
  for (const TurnMoments& turn : history) {
    const int before = found.answered;
    found.log_evidence += std::log(bet.factor(turn.moments, draws[turn.turn], found));
    if (found.answered > before) found.at.push_back(turn.turn);
  }
  return found;
}

}  // namespace foundling::touch
