// Whether proposals that were read from a file are of the session that they are to be shown with.
#pragma once

#include <span>
#include <string>

#include "decoder/analysis/proposal.h"
#include "schemas/values/frame.h"
#include "schemas/values/reading.h"
#include "schemas/values/result.h"

namespace foundling {

// `session` as it would be written into its own proposals.
[[nodiscard]] SearchedSession searched_session(const std::string& capture, std::int64_t session,
                                               std::span<const MessageSeries> messages,
                                               std::span<const ChannelSeries> channels);

// An error where a proposal has a message, bits or a channel that the session has not. It names
// `name`, the proposals' file, and the proposal.
[[nodiscard]] Result<void> check_proposals_fit(const Correlation& correlation,
                                               const SearchedSession& session,
                                               std::span<const MessageSeries> messages,
                                               std::span<const ChannelSeries> channels,
                                               const std::string& name);

// A sentence where the proposals were found in other frames or readings than the session has,
// though they fit it; empty where they are its own, and where the file does not say of what they
// are. A capture that only has another name is the same.
[[nodiscard]] std::string other_session(const Correlation& correlation,
                                        const SearchedSession& session);

}  // namespace foundling
