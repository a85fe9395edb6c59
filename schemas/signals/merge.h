// New findings into a map that a person may have edited. What is confirmed or refuted stays as it
// is; proposals are brought up to date in place, found by name or else by place; what contradicts
// the map is written beside it as a comment with the figures; no comment is ever lost, and a map
// without faults stays one. Two-way for now: a merge against a common ancestor would decide line by
// line with the same matching (merge_signal.h).
#pragma once

#include <string>
#include <vector>

#include "schemas/signals/document.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

struct MergeNote {
  enum class Kind : std::uint8_t {
    added,         // a message or signal that the map did not have
    updated,       // a proposal, in place
    agreed,        // confirmed before, found again
    contradicted,  // the map was left as it is, the finding is a comment beside it
  };
  Kind kind = Kind::added;
  std::string name;  // of the signal, or the message's line
  std::string text;  // one sentence with the figures
};

struct Merged {
  Document document;
  std::vector<MergeNote> notes;
};

// `base` is the tree of a map without faults (read_signals().ok()). Merging the same findings again
// changes nothing.
[[nodiscard]] Merged merge_findings(const Document& base, const SignalMap& findings);

}  // namespace foundling
