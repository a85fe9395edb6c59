// When things happen in one turn of a touch test. A turn is a window of fixed length; the moment at
// which the person is told to act is drawn from equally likely places in it, and nothing else of
// the window depends on the draw: that is what makes the chance exact.
#pragma once

#include <cstdint>

namespace foundling::touch {

// In bins, each of a tenth of a second at pace 1.
inline constexpr int lead_bins = 12;      // looked at before the first place: how it was
inline constexpr int places = 12;         // where the word may come
inline constexpr int place_bins = 5;      // from one to the next
inline constexpr int latest_answer = 25;  // bins after the word: a hand, the board, its period
inline constexpr int tail_bins = 10;      // looked at after the latest answer to the last place
inline constexpr int window_bins =
    lead_bins + (places - 1) * place_bins + latest_answer + tail_bins;  // 102

struct Timing {
  double pace = 1;  // how many times as slow as a switch that is flicked

  [[nodiscard]] std::int64_t bin_ns() const { return static_cast<std::int64_t>(1e8 * pace); }
  [[nodiscard]] std::int64_t window_ns() const { return window_bins * bin_ns(); }
  // From the window's start to the word at a place.
  [[nodiscard]] std::int64_t word_ns(int place) const {
    return (lead_bins + place * place_bins) * bin_ns();
  }
};

}  // namespace foundling::touch
