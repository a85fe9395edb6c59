// The members of a series that nobody moved. On a bench a few cells are moved one at a time; where
// their fields follow one layout, and what that layout says of the others reads like cells at rest,
// those are proposed as well: weak, marked as inferred, and with what speaks for them in the note.
// What could be otherwise is left out: a member on which two layouts that both hold up disagree, a
// field that reads otherwise, whatever lies behind the first such field.
#pragma once

#include <span>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "decoder/analysis/stream.h"
#include "schemas/values/reading.h"

namespace foundling {

// `proposals`: those of the channels. `end_ns`: of the recording.
[[nodiscard]] std::vector<Proposal> infer_series(std::span<const MessageSeries> messages,
                                                 std::span<const Stream> streams,
                                                 std::span<const ChannelSeries> channels,
                                                 std::span<const Proposal> proposals,
                                                 std::int64_t end_ns);

}  // namespace foundling
