// How well a change at each moment of a window explains what a candidate did there: a step (the
// value is another from then on), a bend (it begins to rise or fall) or a pulse (a message that is
// sent once). Likelihoods of a line with and without the change, by their sums of squares; they
// need only rank moments, for the chance comes from the drawn places alone. Pure.
#pragma once

#include <array>
#include <cstdint>

#include "decoder/touch/window.h"

namespace foundling::touch {

enum class Shape : std::uint8_t { step, bend, pulse };

// For a change in each bin: its likelihood, the best of them 1, where the value rose or else fell.
struct Moments {
  std::array<float, window_bins> rising{}, falling{};
};

// What is left, once a line is taken away, of the square of the shape beginning in each bin.
using ShapeNorms = std::array<double, window_bins>;
[[nodiscard]] ShapeNorms shape_norms(const Mask& mask, Shape shape);

// `values`: a mean for each seen bin. `grain`: differences below it are no evidence (a hundredth of
// a bit, a third of a field's step).
[[nodiscard]] Moments moments_of_change(const Mask& mask, Bins values, Shape shape,
                                        const ShapeNorms& norms, double grain);

}  // namespace foundling::touch
