// What two maps say differently, by meaning: signals by name (else by place: renamed), series
// member by member, whatever the order of lines, comments and forms of numbers.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "schemas/signals/signal_map.h"

namespace foundling {

struct MapChange {
  enum class Kind : std::uint8_t { added, removed, changed, renamed };
  Kind kind = Kind::changed;
  std::string subject;  // "pack_current", "cell_01..cell_28", "message 1A4", "the map"
  std::string what;     // "scale", "note", ...; empty: the subject itself
  std::string before;   // empty: not said
  std::string after;
  bool operator==(const MapChange&) const = default;
};

// In the order of the later map, what it lacks at the end.
[[nodiscard]] std::vector<MapChange> compare_maps(const SignalMap& before, const SignalMap& after);

// "pack_current scale 0.1 → 0.05"
[[nodiscard]] std::string to_text(const MapChange& change);

}  // namespace foundling
