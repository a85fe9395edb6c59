// A field that follows its channel along a curve: thermistors in raw codes, a flow by its square
// root. The channel is straightened along the curve, and then the search is that for a line.
#pragma once

#include <optional>
#include <span>

#include "decoder/analysis/channel_search.h"
#include "decoder/analysis/monotone_curve.h"

namespace foundling {

constexpr int curve_levels_needed = 6;  // a curve through fewer points says nothing

struct CurveFinding {
  Candidate candidate;  // its line is against the straightened channel, so near raw = raw
  ChannelSearch rows;   // the channel itself on rows as the field's lag shows it; no candidates
  MonotoneCurve curve;
  int levels = 0;           // distinct levels of the channel
  double r2 = 0;            // share of the field's row means that a cubic in x explains
  double line_r2 = 0;       // that a straight line does
  double residual_rms = 0;  // of x about the curve, over the rows
  // Set where the field is a straight line after all: fitted inside its range, at an end of which
  // it stops; or without the few plateaus that lie off it.
  std::optional<Candidate> straight;
  int plateaus_off = 0;
};

// The best such field among bits that nobody owns; none where a line does nearly as well, where the
// curve does not rise or fall throughout, or the channel had too few levels.
[[nodiscard]] std::optional<CurveFinding> search_curve(std::span<const Stream> streams,
                                                       const ChannelSeries& channel,
                                                       std::int64_t end_ns);

// Whether a field that was taken for a straight line bends: a curve explains far more of it.
[[nodiscard]] bool bends(const Stream& stream, const ChannelSeries& channel,
                         const Candidate& candidate, std::int64_t end_ns);

// As chance_of, with the search for curves.
[[nodiscard]] double chance_of_curve(std::span<const Stream> streams, const ChannelSearch& found,
                                     double r2, std::uint64_t seed, int draws = 199);

}  // namespace foundling
