// Whether a map was made from the session that it is held against: then it agrees by construction,
// and a check proves nothing. Told by what was recorded, since files are copied and renamed; by
// name only where the map does not say of what content it is.
#pragma once

#include <span>
#include <string>

#include "schemas/signals/signal_map.h"
#include "schemas/values/frame.h"

namespace foundling {

// Of all messages in any order: bus, identifier, how many frames, and the payloads of the first and
// the last. Not of times, which change where a session is exported and imported again, and not of
// readings, which may be corrected. FNV-1a, 64 bits, in hexadecimal.
[[nodiscard]] std::string session_digest(std::span<const MessageSeries> messages);

// How the evidence of a map says it: "digest 0123456789abcdef".
[[nodiscard]] std::string digest_words(const std::string& digest);

struct SessionIdentity {
  std::string capture;  // file name, without folders
  std::int64_t session = 1;
  std::string digest;
};

[[nodiscard]] bool made_from(const SignalMap& map, const SessionIdentity& session);

}  // namespace foundling
