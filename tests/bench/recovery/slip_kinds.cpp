#include "tests/bench/recovery/slip_kinds.h"

#include <algorithm>
#include <cmath>

namespace foundling::recovery {
namespace {

constexpr std::int64_t same_step_ns = 100'000'000;  // channels of one step are noted so close

bool alike(double a, double b, double uncertainty) { return std::abs(a - b) <= 3 * uncertainty; }

bool could_be_neighbour(const RandomBoard& board, std::size_t c, const Reading& reading) {
  const double uncertainty = board.truth.channels[c].uncertainty;
  for (std::size_t k = 0; k < board.channels.size(); ++k) {
    if (k == c || board.channels[k].channel.is_state()) continue;
    const Reading* other = standing_at(board, k, reading.t_ns);
    const double both = std::max(uncertainty, board.truth.channels[k].uncertainty);
    if (other != nullptr && alike(other->value, reading.value, both)) return true;
  }
  return false;
}

}  // namespace

const Reading* standing_at(const RandomBoard& board, std::size_t c, std::int64_t t_ns) {
  const std::vector<Reading>& honest = board.truth.channels[c].honest;
  const auto later =
      std::upper_bound(honest.begin(), honest.end(), t_ns + same_step_ns,
                       [](std::int64_t t, const Reading& reading) { return t < reading.t_ns; });
  return later == honest.begin() ? nullptr : &*(later - 1);
}

bool could_be(Slip kind, const RandomBoard& board, std::size_t c, const Reading& reading) {
  const Reading* right = standing_at(board, c, reading.t_ns);
  if (right == nullptr) return false;
  const TrueChannel& channel = board.truth.channels[c];
  const double error = channel.uncertainty;
  switch (kind) {
    case Slip::factor_10:
      return alike(reading.value, right->value * 10, 10 * error) ||
             alike(reading.value, right->value / 10, error);
    case Slip::sign:
      return alike(reading.value, -right->value, error);
    case Slip::previous: {
      if (right == channel.honest.data()) return false;
      const Reading& before = *(right - 1);
      return before.state == reading.state && alike(before.value, reading.value, error);
    }
    case Slip::neighbour:
      return reading.state.empty() && could_be_neighbour(board, c, reading);
    case Slip::digits:
    case Slip::unfit:
      break;
  }
  return false;
}

std::string word_of(Slip kind) {
  static constexpr const char* words[] = {"factor 10", "sign",      "digits",
                                          "previous",  "neighbour", "unfit"};
  return words[static_cast<std::size_t>(kind)];
}

}  // namespace foundling::recovery
