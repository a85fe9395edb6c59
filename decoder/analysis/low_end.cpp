#include "decoder/analysis/low_end.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <vector>

namespace foundling {
namespace {

// One possible low end on the way down from the top.
struct Step {
  BitPosition at;
  double lone;    // cost of all bits from the top to here, each by itself
  double saving;  // against that, of reading them as one quantity; -inf where the bit never moves
};

// Alignment is a prior: fields end at bytes far more often than at nibbles, at nibbles more often
// than elsewhere, and single restless bits that belong to nobody are rare (common practice, no
// source).
double prior_cost(BitPosition p) { return p.bit == 0 ? 0 : p.bit == 4 ? 6 : 24; }

std::optional<BitPosition> below(BitPosition at, ByteOrder order, int bits) {
  if (at.bit > 0) return BitPosition{at.byte, static_cast<std::uint8_t>(at.bit - 1)};
  const int byte = at.byte + (order == ByteOrder::little ? -1 : 1);
  if (order == ByteOrder::single || byte < 0 || byte * 8 >= bits) return {};
  return BitPosition{static_cast<std::uint8_t>(byte), 7};
}

std::vector<Step> walk_down(const Stream& stream, const CodedFrames& frames, BitPosition msb,
                            ByteOrder order, bool is_signed, int most_bits) {
  std::vector<Step> steps;
  std::vector<double> values(frames.frame.size(), 0);
  double lone = 0;
  std::optional<BitPosition> at = msb;
  for (int width = 1; width <= most_bits && at; ++width) {
    const int bit = bit_index(*at);
    if (stream.owned[static_cast<std::size_t>(bit)]) break;
    for (std::size_t k = 0; k < values.size(); ++k) {
      const double b = stream.bits.at(bit, frames.frame[k]) ? 1 : 0;
      values[k] = width == 1 && is_signed ? -b : 2 * values[k] + b;
    }
    lone += lone_bit_cost(stream, bit, frames);
    const double saving = stream.moving[static_cast<std::size_t>(bit)]
                              ? lone - quantity_cost(values, frames) - prior_cost(*at)
                              : -std::numeric_limits<double>::infinity();
    steps.push_back({*at, lone, saving});
    at = below(*at, order, stream.bits.bits());
  }
  return steps;
}

double plateaus_of(const CodedFrames& frames) {
  double count = 0;
  for (std::size_t i = 1; i < frames.plateau.size(); ++i) {
    if (frames.plateau[i] != frames.plateau[i - 1]) count += 1;
  }
  return count;
}

// The lower part may be a quantity of its own that merely stands next to the field: then writing
// both down apart is clearly cheaper, and the field ends above it. Two bits a plateau are granted
// for what the coding of first values does not get right.
std::vector<Step>::const_iterator cut_off_neighbour(const Stream& stream, const CodedFrames& frames,
                                                    const std::vector<Step>& steps,
                                                    std::vector<Step>::const_iterator low) {
  double apart_best = low->saving + 3 + 2 * plateaus_of(frames);
  auto end = low;
  for (auto cut = steps.begin(); cut != low; ++cut) {
    if (!std::isfinite(cut->saving)) continue;
    const double all = cut->saving + low->lone - cut->lone;  // were the lower part for nothing
    if (all <= apart_best) continue;
    const Span lower{std::next(cut)->at, low->at};
    const auto values = coded_values(stream, frames, lower, Coding::natural);
    const double apart = all - lone_quantity_cost(values, frames);
    if (apart <= apart_best) continue;
    apart_best = apart;
    end = cut;
  }
  return end;
}

}  // namespace

LowEnd choose_low_end(const Stream& stream, const CodedFrames& frames, BitPosition msb,
                      ByteOrder order, bool is_signed, int most_bits) {
  const std::vector<Step> steps = walk_down(stream, frames, msb, order, is_signed, most_bits);
  if (steps.empty()) return {{msb, msb}, -std::numeric_limits<double>::infinity()};
  auto low = std::max_element(steps.cbegin(), steps.cend(),
                              [](const Step& a, const Step& b) { return a.saving < b.saving; });
  // Several neighbours may stand below one another.
  while (true) {
    const auto cut = cut_off_neighbour(stream, frames, steps, low);
    if (cut == low) break;
    low = cut;
  }
  return {{msb, low->at}, low->saving};
}

}  // namespace foundling
