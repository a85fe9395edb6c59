// A session without frames: the tracks that relations are looked for in, made by hand.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <random>
#include <vector>

#include "decoder/relate/looked_at.h"
#include "decoder/relate/state_bits.h"

namespace foundling::relate {

struct Made {
  LookedAt seen;
  std::mt19937_64 random{1};
  std::normal_distribution<double> normal;

  explicit Made(std::size_t windows = 600) { seen.grid = {0, 0.5, windows}; }

  // A quantity that holds random levels for some windows each.
  Track levels(double low, double high, std::size_t hold) {
    Track track;
    double level = low;
    std::uniform_real_distribution<double> draw(low, high);
    for (std::size_t w = 0; w < seen.grid.windows; ++w) {
      if (w % hold == hold / 2) level = draw(random);
      track.push_back(level);
    }
    return track;
  }
  Track noisy(Track track, double size) {
    for (double& one : track) one += size * normal(random);
    return track;
  }
  static Track rounded(Track track) {
    for (double& one : track) one = std::round(one);
    return track;
  }
  std::size_t add(Track track, double error = 0.3) {
    Field field;
    field.message = seen.fields.size();
    field.moved_bits = 12;
    field.period_s = 0.1;
    field.noise = 1;
    field.level = track.front();
    field.place.span = *Span::from_lsb({1, 0}, 16, ByteOrder::big);
    seen.motions.push_back(motion_of(track));
    seen.tracks.push_back(std::move(track));
    seen.errors.push_back(error);
    seen.fields.push_back(std::move(field));
    return seen.fields.size() - 1;
  }
  [[nodiscard]] std::vector<bool> none() const { return std::vector<bool>(seen.fields.size()); }
};

// How many sessions without a relation are made; FOUNDLING_UNRELATED_BOARDS asks for more.
inline std::uint64_t unrelated_sessions(std::uint64_t usual) {
  const char* text = std::getenv("FOUNDLING_UNRELATED_BOARDS");
  return text == nullptr ? usual : std::strtoull(text, nullptr, 10);
}

// A bit that is set in the windows where `is_set` says so.
template <typename IsSet>
StateBit made_bit(std::size_t windows, IsSet is_set) {
  StateBit bit;
  for (std::size_t w = 0; w < windows; ++w) {
    bit.track.push_back(is_set(w) ? 1 : 0);
    if (w > 0 && bit.track[w] != bit.track[w - 1]) {
      bit.flips.push_back(static_cast<std::uint32_t>(w));
    }
  }
  return bit;
}

}  // namespace foundling::relate
