// What the readings of another session bear out of that which a map has by relation alone: such a
// signal is then as good as one that a stimulus found. Pure. Whether it is confirmed stays with the
// person.
#pragma once

#include <string>
#include <vector>

#include "decoder/decode/check.h"
#include "decoder/decode/own_session.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

struct BorneOut {
  SignalMap findings;                // to be merged into the map: each with this session's evidence
  std::vector<std::string> signals;  // their fields' names, in the map's order
  // Series of which not all members passed or had a channel: "cell: 3 of 28 members".
  std::vector<std::string> partly;
};

// Of a check of `map` against `session`. Nothing is borne out by a session that the map was made
// from.
[[nodiscard]] BorneOut borne_out(const SignalMap& map, const MapCheck& check,
                                 const SessionIdentity& session);

}  // namespace foundling
