// What `foundling bus` says to a person: an interface on a line or two, a verdict, what to do next.
// Pure.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "schemas/link/can_link.h"
#include "tools/bus/bus_finding.h"
#include "tools/bus/data_rate.h"

namespace foundling {

[[nodiscard]] std::string rate_in_words(std::uint32_t bit_rate);  // "500 kbit/s"
[[nodiscard]] std::string describe_link(const CanLink& link);     // lines
[[nodiscard]] std::string describe_heard(
    const Listening& heard);  // "12 frames, 3 error frames: ..."

struct RateSearch {
  std::vector<Listening> tried;
  std::vector<std::uint32_t> refused;  // data rates that the adapter does not offer
  bool stopped = false;                // before it was through
  // The one that fits, else nothing.
  [[nodiscard]] const Listening* best() const;
  [[nodiscard]] DataRate data_rate() const;  // at the best one's rate, else of all
};

// What was found, and what to do; lines. `name` is the interface.
[[nodiscard]] std::string explain_search(const RateSearch& search, const std::string& name);
// What the listenings with CAN FD add to it; empty: nothing.
[[nodiscard]] std::string explain_data_rate(const RateSearch& search);
// What to check, in order, where nothing is heard.
[[nodiscard]] std::string silence_checklist();

}  // namespace foundling
