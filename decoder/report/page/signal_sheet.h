// Everything that the page draws of one signal: its values over time, and what it said against what
// the bench had applied. One signal at a time: 16 bytes for each of its values, given back at once.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "decoder/report/page/extremes.h"
#include "schemas/signals/field.h"
#include "schemas/signals/signal_map.h"
#include "schemas/values/frame.h"
#include "schemas/values/reading.h"

namespace foundling {

struct AppliedPoint {  // a plateau, or a reading of a sampled channel
  double applied = 0;  // what the bench had
  double shown = 0;    // what the signal said, in its unit
};

struct SignalSheet {
  Extremes values;             // numbers; of a state signal its raw codes
  std::uint64_t frames = 0;    // that carried the field
  std::uint64_t reserved = 0;  // that said there was no number
  // Only where the bench has a numeric channel of that name and unit.
  std::string channel;
  bool sampled = false;              // readings at moments; else plateaus
  double delay_s = 0;                // at which they were compared
  std::size_t compared = 0;          // plateaus or readings
  std::size_t possible = 0;          // that there were
  std::vector<AppliedPoint> points;  // all, or where there are too many the outermost of each part
  double rms = 0;                    // of shown - applied, over all of them
};

inline constexpr std::size_t most_points_drawn = 1200;

// The channel that a field answers to, by name (numbers compared as numbers); null if there is
// none.
[[nodiscard]] const ChannelSeries* channel_of(std::span<const ChannelSeries> channels,
                                              const std::string& signal);

[[nodiscard]] SignalSheet sheet_of(const SignalMap& map, const Field& field,
                                   std::span<const MessageSeries> messages,
                                   std::span<const ChannelSeries> channels, const Grid& grid);

// At most about `most` points: the range of `applied` in equal parts, of each the point with the
// least and the one with the greatest shown - applied.
[[nodiscard]] std::vector<AppliedPoint> outermost(const std::vector<AppliedPoint>& points,
                                                  std::size_t most);

}  // namespace foundling
