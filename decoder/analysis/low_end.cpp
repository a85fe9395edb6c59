#include "decoder/analysis/low_end.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <vector>

namespace foundling {

std::optional<BitPosition> next_below(BitPosition at, ByteOrder order, int bits) {
  if (at.bit > 0) return BitPosition{at.byte, static_cast<std::uint8_t>(at.bit - 1)};
  const int byte = at.byte + (order == ByteOrder::little ? -1 : 1);
  if (order == ByteOrder::single || byte < 0 || byte * 8 >= bits) return {};
  return BitPosition{static_cast<std::uint8_t>(byte), 7};
}

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
double alignment_cost(const Stream& stream, BitPosition p) {
  if (stream.ends_anywhere) return 0;
  return p.bit == 0 ? 0 : p.bit == 4 ? 6 : 24;
}
constexpr double restless_cost = 20;
constexpr double orphan_cost = 1.5;  // for each restless bit left to nobody

bool moves_in(const Stream& stream, int bit, const CodedFrames& frames) {
  const bool first = stream.bits.at(bit, frames.frame.front());
  return std::any_of(frames.frame.begin(), frames.frame.end(),
                     [&](std::size_t i) { return stream.bits.at(bit, i) != first; });
}

// Bits that it takes to explain a bit which stood still whenever the channel did, and moved while
// the channel went from one level to the next, as anybody else's: its movements fell into the
// short times between the levels. So the low bits of a field show themselves where all settings
// were multiples of several codes.
double moves_between_levels_cost(const Stream& stream, int bit, const CodedFrames& frames) {
  constexpr double enough = 24;  // as much as a field's end in an unlikely place
  if (frames.kind != ChannelKind::hold) return 0;
  double between = 0;  // frames
  double changes = 0;  // of level, in which the bit moved
  double at_rest = 0;  // pairs of frames of one level with a movement between them
  for (std::size_t k = 1; k < frames.frame.size(); ++k) {
    const std::size_t from = frames.frame[k - 1];
    const std::size_t to = frames.frame[k];
    const bool rests = frames.plateau[k] == frames.plateau[k - 1];
    if (!rests) between += static_cast<double>(to - from);
    const std::uint32_t ones = stream.bits.ones(bit, from, to);
    if (ones == 0 || ones == to - from) continue;
    (rests ? at_rest : changes) += 1;
  }
  const auto all = static_cast<double>(frames.frame.back() - frames.frame.front());
  const double moved = changes + at_rest;
  const double expected = between / all;
  if (changes <= expected * moved) return 0;
  // Of so many movements, so many in so small a share of the frames (Kullback and Leibler 1951).
  const double in = changes * std::log2(changes / moved / expected);
  const double out = at_rest > 0 ? at_rest * std::log2(at_rest / moved / (1 - expected)) : 0;
  return std::min(enough, in + out);
}

// As good as tossed in every frame, of a channel that moves all the time. What is tossed while a
// channel rests can be told from its field: noise would carry over now and then.
bool is_restless(double cost, const CodedFrames& frames) {
  return frames.kind == ChannelKind::sample &&
         cost > 0.95 * static_cast<double>(frames.frame.size());
}

// A field that lies within one byte reads the same in either order, so its end may stand above two
// bits: the next one down in its own order and in the other.
std::optional<BitPosition> below_otherwise(BitPosition at, BitPosition msb, ByteOrder order,
                                           int bits) {
  if (at.byte != msb.byte || at.bit > 0) return {};
  return next_below(at, order == ByteOrder::little ? ByteOrder::big : ByteOrder::little, bits);
}

std::vector<Step> walk_down(const Stream& stream, const CodedFrames& frames, BitPosition msb,
                            ByteOrder order, bool is_signed, int most_bits) {
  std::vector<Step> steps;
  std::vector<double> values(frames.frame.size(), 0);
  double lone = 0;
  double explained = 0;  // by the field alone, not by a neighbour that has nothing to do with x
  double quantity = std::numeric_limits<double>::infinity();
  std::size_t best = 0;
  constexpr std::size_t far_below = 10;  // bits without a better end: it will not come
  std::optional<BitPosition> at = msb;
  for (int width = 1; width <= most_bits && at; ++width) {
    const int bit = bit_index(*at);
    if (stream.owned[static_cast<std::size_t>(bit)]) break;
    for (std::size_t k = 0; k < values.size(); ++k) {
      const double b = stream.bits.at(bit, frames.frame[k]) ? 1 : 0;
      values[k] = width == 1 && is_signed ? -b : 2 * values[k] + b;
    }
    // A bit that stands still in these frames, and moves in others, needs no writing down: only
    // when it moved can tell whether it is the field's own.
    // A moving channel's low bits are tossed in every frame whoever owns them: a restless bit of a
    // quantity need not cost more there than one by itself.
    if (moves_in(stream, bit, frames)) {
      const double alone = lone_bit_cost(stream, bit, frames);
      lone += alone;
      const double tossed = quantity + alone - orphan_cost;
      quantity = quantity_cost(values, frames);
      if (is_restless(alone, frames)) {
        if (!steps.empty()) steps.back().saving -= restless_cost;
        quantity = std::min(quantity, tossed);
      }
    } else if (stream.moving[static_cast<std::size_t>(bit)]) {
      explained += moves_between_levels_cost(stream, bit, frames);
    }
    const bool may_end = stream.moving[static_cast<std::size_t>(bit)] && std::isfinite(quantity);
    const double saving =
        may_end ? lone + explained - quantity - alignment_cost(stream, *at) - 0.5 * width
                : -std::numeric_limits<double>::infinity();
    steps.push_back({*at, lone, saving});
    const auto beside = below_otherwise(*at, msb, order, stream.bits.bits());
    if (beside && !stream.owned[static_cast<std::size_t>(bit_index(*beside))]) {
      const double alone = lone_bit_cost(stream, bit_index(*beside), frames);
      if (is_restless(alone, frames)) steps.back().saving -= restless_cost;
    }
    if (saving >= steps[best].saving) best = steps.size() - 1;
    if (steps.size() > best + 1 + far_below) break;
    at = next_below(*at, order, stream.bits.bits());
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

// Whether a stretch of bits moves about while the channel rests and stays when it changes, in means
// over short blocks. The low bits of the channel's own field do it the other way round.
bool moves_at_rest(std::span<const double> values, int width, const CodedFrames& frames) {
  if (width < 3) return false;  // a bit or two show too little
  constexpr std::size_t block = 24;
  double within = 0;  // squared steps from block to block of one plateau, and from any to any
  double across = 0;
  double ripple = 0;
  double n_within = 0;
  double n_across = 0;
  double last = 0;
  int last_plateau = 0;
  bool first = true;
  for (std::size_t i = 0; i < values.size();) {
    double sum = 0;
    double squares = 0;
    std::size_t end = i;
    for (; end < values.size() && end < i + block && frames.plateau[end] == frames.plateau[i];
         ++end) {
      sum += values[end];
      squares += values[end] * values[end];
    }
    const auto n = static_cast<double>(end - i);
    const double mean = sum / n;
    if (end - i == block) {
      if (!first) {
        const bool rests = frames.plateau[i] == last_plateau;
        (rests ? within : across) += (mean - last) * (mean - last);
        (rests ? n_within : n_across) += 1;
        ripple += 2 * (squares / n - mean * mean) / n;
      }
      first = false;
      last = mean;
      last_plateau = frames.plateau[i];
    }
    i = end;
  }
  if (n_within < 4 || n_across < 4) return false;
  // Low bits of the field itself come to rest anywhere after a change: 1/6 of the range squared.
  const double range2 = std::ldexp(1.0, 2 * width);
  const bool stays = across < 0.05 * range2 * n_across;
  const double noise = ripple / (n_within + n_across);
  return stays && within > 8 * noise * n_within + 0.05 * range2;
}

// The lower part may be a quantity of its own that merely stands next to the field: then writing
// both down apart is clearly cheaper, and the field ends above it. Some bits a plateau are granted
// for what the coding of first values does not get right, to either side: a lower part that moves
// while the channel rests is somebody else's unless it clearly is not.
std::vector<Step>::const_iterator cut_off_neighbour(const Stream& stream, const CodedFrames& frames,
                                                    const std::vector<Step>& steps,
                                                    std::vector<Step>::const_iterator low) {
  const double grant = 3 + 1.5 * plateaus_of(frames);
  double best = low->saving;
  auto end = low;
  for (auto cut = steps.begin(); cut != low; ++cut) {
    if (!std::isfinite(cut->saving)) continue;
    const double all = cut->saving + low->lone - cut->lone;  // were the lower part for nothing
    if (all + grant <= best) continue;
    const Span lower{std::next(cut)->at, low->at};
    const auto values = coded_values(stream, frames, lower, Coding::natural);
    const double side = moves_at_rest(values, lower.width(), frames) ? grant : -grant;
    const double apart = all - lone_quantity_cost(values, frames) + side;
    if (apart <= best) continue;
    best = apart;
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
