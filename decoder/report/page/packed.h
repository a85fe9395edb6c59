// A series of extremes as short text, for a page that holds a hundred of them. Whole steps, one
// after another as differences, in bytes of seven bits (most significant bit: more follow), as
// base64 (RFC 4648). series.js reads it.
//   stream  = { empty | filled }
//   empty   = 0, then how many buckets have no value
//   filled  = 1 + zigzag(low - low of the filled bucket before, at first 0), then high - low
// zigzag(n) is 2n for n >= 0 and -2n - 1 below. A value is base + step * whole number.
#pragma once

#include <string>

#include "decoder/report/page/extremes.h"

namespace foundling {

struct Packed {
  double base = 0;
  double step = 1;
  std::string data;
};

// In whole steps of the signal's own resolution from its offset on: exact. A step of 0, or one that
// would take numbers beyond 2^40, is replaced by a 65535th of the range: half such a step is lost.
[[nodiscard]] Packed packed(const Extremes& extremes, double base, double step);

[[nodiscard]] std::string base64(const std::string& bytes);

}  // namespace foundling
