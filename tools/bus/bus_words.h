// What `foundling bus` says to a person: an interface on a line or two, a verdict, what to do next.
// Pure.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "schemas/link/can_link.h"
#include "tools/bus/bus_finding.h"

namespace foundling {

[[nodiscard]] std::string rate_in_words(std::uint32_t bit_rate);  // "500 kbit/s"
[[nodiscard]] std::string describe_link(const CanLink& link);     // lines
[[nodiscard]] std::string describe_heard(
    const Listening& heard);  // "12 frames, 3 error frames: ..."

struct RateSearch {
  std::vector<Listening> tried;
  // The one that fits, else nothing.
  [[nodiscard]] const Listening* best() const;
};

// What was found, and what to do; lines. `name` is the interface.
[[nodiscard]] std::string explain_search(const RateSearch& search, const std::string& name);
// What to check, in order, where nothing is heard.
[[nodiscard]] std::string silence_checklist();

}  // namespace foundling
