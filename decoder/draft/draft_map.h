// Proposals and a survey to a signal map: what the analysis found, as a person would write it down.
// Pure. One field a channel (rank 1); where two want the same bits the better one gets them and the
// other is a note beside it, so that the map has no faults. Look-alike neighbours become a series.
#pragma once

#include <cstdint>
#include <string>

#include "decoder/analysis/proposal.h"
#include "decoder/analysis/survey.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

struct DraftSource {
  std::string board;    // as the session names it; may be empty
  std::string capture;  // the file's name, for the evidence
  std::int64_t session = 1;
  std::int64_t bit_rate = 0;       // 0 unknown
  std::int64_t data_bit_rate = 0;  // 0 unknown
  std::string digest = {};         // of its frames, ends the evidence; empty: not said
  bool by_relation = false;        // the findings are from a relation and readings of the whole
};

[[nodiscard]] SignalMap draft_map(const Correlation& correlation, const Survey& survey,
                                  const DraftSource& source);

}  // namespace foundling
