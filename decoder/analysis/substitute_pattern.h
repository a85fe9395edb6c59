// A substitute among values. Where a field's code for no value lies within its range, read as it
// was roughly seen, some frames that show it are not far off and were not called substitutes. What
// else those frames have in common tells them: a board without values puts more than one field's
// bits so.
#pragma once

#include <cstdint>

#include "decoder/analysis/stream.h"

namespace foundling {

// Adds to `out` the frames of the message, on the stream's page, that show `code` in the field and
// agree in all other bits in which the frames left out with that code agree; unless frames with
// other codes do so as well, for then those bits tell nothing.
void leave_out_alike(const MessageSeries& message, const Stream& stream, const Span& field,
                     std::uint64_t code, LeftOut& out);

}  // namespace foundling
