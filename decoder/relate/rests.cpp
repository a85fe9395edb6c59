#include "decoder/relate/rests.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "decoder/relate/middle.h"

namespace foundling::relate {
namespace {

constexpr double beyond_noise = 4;      // standard deviations: one window in 16,000 by accident
constexpr double enough = 0.25;         // of all windows; below it nothing rests
constexpr std::uint32_t piece = 16;     // windows, at most
constexpr std::uint32_t settling = 10;  // windows after a change, of a rest longer than that

// Where the track moves by more than its noise, and a code's rounding at least.
std::vector<bool> moving(const Track& track, double error) {
  std::vector<double> known;
  Track motion(track.size(), std::numeric_limits<double>::quiet_NaN());
  for (std::size_t w = 1; w + 1 < track.size(); ++w) {
    motion[w] = std::abs(track[w + 1] - track[w - 1]) + 0 * track[w];
    if (!std::isnan(motion[w])) known.push_back(motion[w]);
  }
  const double noise = std::max(usual_size(std::move(known)), std::sqrt(2.0) * error);
  std::vector<bool> out(track.size(), true);
  for (std::size_t w = 0; w < track.size(); ++w) out[w] = !(motion[w] <= beyond_noise * noise);
  return out;
}

// What comes later in a rest has settled for longer, and what comes last may be ahead of its total.
Rest settled_part(Rest rest) {
  const std::uint32_t length = rest.to - rest.from;
  return {rest.from + std::min(settling, length / 2),
          rest.to - std::min<std::uint32_t>(3, length / 6)};
}

// Long rests are cut: what moves while the total rests is no part of it, and shows from piece to
// piece.
void add_pieces(Rest rest, std::vector<Rest>& out) {
  const std::uint32_t length = rest.to - rest.from;
  const std::uint32_t pieces = (length + piece - 1) / piece;
  for (std::uint32_t i = 0; i < pieces; ++i) {
    out.push_back({rest.from + length * i / pieces, rest.from + length * (i + 1) / pieces});
  }
}

}  // namespace

std::vector<Rest> rests_of(const Track& track, double error) {
  const std::vector<bool> moves = moving(track, error);
  std::vector<Rest> out;
  std::size_t windows = 0;
  for (std::uint32_t w = 0; w < moves.size(); ++w) {
    if (moves[w]) continue;
    Rest rest{w, w};
    while (rest.to < moves.size() && !moves[rest.to]) ++rest.to;
    w = rest.to;
    windows += rest.to - rest.from;
    if (rest.to - rest.from >= 2) add_pieces(settled_part(rest), out);
  }
  if (static_cast<double>(windows) >= enough * static_cast<double>(track.size())) return out;
  out.clear();
  for (std::uint32_t w = 0; w + piece <= track.size(); w += piece) out.push_back({w, w + piece});
  return out;
}

std::vector<double> means_in(const Track& track, const std::vector<Rest>& rests) {
  std::vector<double> out;
  for (const Rest& rest : rests) {
    double sum = 0;
    int windows = 0;
    for (std::uint32_t w = rest.from; w < rest.to; ++w) {
      if (std::isnan(track[w])) continue;
      sum += track[w];
      ++windows;
    }
    out.push_back(windows > 0 ? sum / windows : std::numeric_limits<double>::quiet_NaN());
  }
  return out;
}

}  // namespace foundling::relate
