// What relations are looked for in: the fields of a session, their tracks, and how they move.
#pragma once

#include <span>
#include <vector>

#include "decoder/relate/fields.h"
#include "decoder/relate/settled.h"
#include "decoder/relate/tracks.h"

namespace foundling::relate {

struct LookedAt {
  std::vector<Field> fields;
  Grid grid;
  std::vector<Track> tracks;   // as fields
  std::vector<Track> motions;  // likewise
  std::vector<double> errors;  // likewise: of one window's mean, codes
};

[[nodiscard]] LookedAt look_at(std::span<const MessageSeries> messages, const Survey& survey);

// Steps over which all of these rest.
[[nodiscard]] Steps steps_of(const LookedAt& seen, std::span<const std::size_t> fields);

}  // namespace foundling::relate
