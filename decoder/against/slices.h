// Parts of a message's recording, surveyed again: a finding that one recording lacks is looked for
// in other cuts before it is called a difference.
#pragma once

#include <functional>

#include "decoder/against/pairing.h"

namespace foundling::held {

// Whether a survey of one message has the finding in question.
using Has = std::function<bool(const MessageSurvey&)>;

// `here` has it in both of its halves, `there` in neither, nor have the two joined, an equal number
// of frames from each: what holds all the same in the other recording holds in the joined rows.
[[nodiscard]] bool truly_missing(const MessageSeries& here, const MessageSeries& there,
                                 const Has& has);

// The two joined have it.
[[nodiscard]] bool holds_joined(const MessageSeries& a, const MessageSeries& b, const Has& has);

}  // namespace foundling::held
