// A reading that does not fit, in words, and the line that would put it right. Nothing is put right
// by the program: whoever wrote the reading down looks at the notes and decides.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "decoder/analysis/proposal.h"

namespace foundling {

struct ReadingsOf {     // where the readings are
  std::string capture;  // as a person would type it
  std::optional<std::int64_t> session;
};

// The capture and session that were searched, under the name that its file has here; without one
// under that which the proposals say.
[[nodiscard]] ReadingsOf readings_of(const Correlation& correlation, const std::string& capture);

[[nodiscard]] std::string_view to_string(Slip kind);
[[nodiscard]] bool is_state(const UnfitReading& reading);

// "reading 97, cell_01 = 34.56 V at 0:48.2: ten times what the board says (3.456 V)"
[[nodiscard]] std::string unfit_words(const UnfitReading& reading);

// The `foundling stimulus` command that would put it right, as it is typed in a shell. Of a decimal
// point or a sign the digits stay those that were written down; else the value is the board's, as
// fine as the one that was written down, and four digits at least.
[[nodiscard]] std::string correction_line(const UnfitReading& reading, const ReadingsOf& readings);

// "cell_01 holds without reading 97, which does not fit", of a channel with such readings; else
// empty.
[[nodiscard]] std::string left_out_words(const Correlation& correlation, const Proposal& proposal);

// A moment of the session: "0:48.2", "1:02:03.4".
[[nodiscard]] std::string moment_text(std::int64_t t_ns);

}  // namespace foundling
