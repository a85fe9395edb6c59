#include "decoder/relate/state_bits.h"

#include <cmath>

namespace foundling::relate {
namespace {

constexpr int most_bits = 3;         // that move together: with more it is a number
constexpr std::size_t fewest = 4;    // flips: two turns
constexpr std::size_t shortest = 8;  // windows of a usual run: four seconds

std::vector<std::uint32_t> flips_of(const Track& track) {
  std::vector<std::uint32_t> out;
  double last = std::nan("");
  for (std::size_t w = 0; w < track.size(); ++w) {
    if (std::isnan(track[w])) continue;
    if (!std::isnan(last) && track[w] != last) out.push_back(static_cast<std::uint32_t>(w));
    last = track[w];
  }
  return out;
}

}  // namespace

std::vector<StateBit> state_bits(const LookedAt& seen, std::span<const MessageSeries> messages) {
  std::vector<StateBit> out;
  for (std::size_t f = 0; f < seen.fields.size(); ++f) {
    const Field& field = seen.fields[f];
    if (field.is_other_cut || field.moved_bits > most_bits) continue;
    for (int i = 0; i < field.moved_bits; ++i) {
      Field one = field;
      const BitPosition at = field.place.span.position(i);
      one.place.span = {at, at};
      one.is_signed = false;
      StateBit bit{one.place, f, last_codes(messages[field.message], one, seen.grid), {}};
      bit.flips = flips_of(bit.track);
      if (bit.flips.size() < fewest || bit.flips.size() * shortest > bit.track.size()) continue;
      out.push_back(std::move(bit));
    }
  }
  return out;
}

std::size_t run_end(const StateBit& bit, std::size_t flip) {
  return flip + 1 < bit.flips.size() ? bit.flips[flip + 1] : bit.track.size();
}

std::size_t run_before(const StateBit& bit, std::size_t flip) {
  return flip > 0 ? bit.flips[flip - 1] : 0;
}

}  // namespace foundling::relate
