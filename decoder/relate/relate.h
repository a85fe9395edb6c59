// The pack's own physics as a stimulus: relations that must hold among the fields of one session,
// found without readings, and what a few readings of the whole make of them. Pure: messages, survey
// and readings in, relations out. How each is judged is in README.md beside this file.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "decoder/relate/extremes.h"
#include "decoder/relate/gated.h"
#include "decoder/relate/looked_at.h"
#include "decoder/relate/pairs.h"
#include "decoder/relate/sum_scale.h"
#include "decoder/relate/sums.h"
#include "decoder/relate/thresholds.h"
#include "schemas/values/reading.h"

namespace foundling::relate {

struct Relations {
  std::vector<Field> fields;                  // that were found; relations name them by index
  std::vector<std::size_t> largest_alike;     // the largest group of alike fields, for advice
  std::vector<SumRelation> sums;              // best first; weak ones too
  std::vector<ExtremeRelation> extremes;      // of the first sum's members, or of the largest group
  std::vector<std::size_t> extremes_of;       // these
  std::vector<PairRelation> pairs;            // copies, products, integrals
  std::vector<StateBit> bits;                 // that flipped now and then; the next two name them
  std::vector<GatedRelation> gated;           // equal to another while a bit is set
  std::vector<ThresholdRelation> thresholds;  // a bit set while a field is beyond a code
  std::optional<SumScale> scale;              // of the first sum's members
  double window_s = 0;
  double seconds = 0;  // of the session

  [[nodiscard]] std::size_t moved() const;  // fields, other cuts of the same bits left out
};

[[nodiscard]] Relations find_relations(std::span<const MessageSeries> messages,
                                       const Survey& survey,
                                       std::span<const ChannelSeries> channels);

}  // namespace foundling::relate
