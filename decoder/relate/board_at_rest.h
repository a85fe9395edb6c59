// What the board says beside a reading. A person reads a meter that has settled, while the board
// may still be on its way: it is read where it has come to rest, and over as many windows as stay
// alike, since six readings against six single windows would be no better than those windows'
// noise.
#pragma once

#include <cstddef>
#include <cstdint>

#include "decoder/relate/tracks.h"

namespace foundling::relate {

class BoardAtRest {
 public:
  // `error`: of one window's mean, codes.
  BoardAtRest(Track track, const Grid& grid, double error);

  // `lag_s` after the reading's stamp; not a number at the session's ends and in gaps. A board that
  // never rests is read in that window.
  [[nodiscard]] double at(std::int64_t t_ns, double lag_s) const;

 private:
  [[nodiscard]] bool rests(std::size_t w) const { return motion_[w] == 0; }
  [[nodiscard]] double settled(std::size_t w) const;
  [[nodiscard]] double mean_about(std::size_t w, std::size_t from, std::size_t to) const;

  Track track_;
  Track motion_;
  Grid grid_;
  double alike_;  // windows that lie within this of their mean say the same
};

}  // namespace foundling::relate
