#include <algorithm>

#include "tools/bus/bus_words.h"

namespace foundling {
namespace {

std::string rates_in_words(const RateSearch& search) {
  std::vector<std::uint32_t> rates;
  for (const Listening& heard : search.tried) {
    if (heard.data_bit_rate() == 0) continue;
    if (std::ranges::count(rates, heard.data_bit_rate()) == 0)
      rates.push_back(heard.data_bit_rate());
  }
  std::string text;
  for (std::size_t i = 0; i < rates.size(); ++i) {
    text += i == 0 ? "" : i + 1 < rates.size() ? ", " : " and ";
    text += rate_in_words(rates[i]);
  }
  return text;
}

// Whether the classical listening at the right rate met what only FD frames do to it.
bool met_fd(const RateSearch& search) {
  const Listening* best = search.best();
  return best != nullptr && std::ranges::any_of(search.tried, [best](const Listening& heard) {
           return heard.data_bit_rate() == 0 && heard.bit_rate() == best->bit_rate() &&
                  heard.faults().reserved_bit > 0;
         });
}

std::string next_step() {
  return "Try others with --data-rate, or another --data-sample-point. On an oscilloscope the "
         "shortest pulse between the wires is one bit of the data: 500 ns at 2 Mbit/s, 200 ns at "
         "5.\n";
}

std::string explain_failure(const RateSearch& search) {
  const std::string tried = rates_in_words(search);
  if (search.best() == nullptr) {
    return "With CAN FD switched on, at data rates of " + tried + ", no frame came in either.\n";
  }
  if (met_fd(search)) {
    return "Frames of CAN FD are there, and none comes in that switches to a data rate of " +
           tried + ": the data rate is another. " + next_step();
  }
  return "With CAN FD switched on frames fail at data rates of " + tried +
         ": they may be frames of CAN FD at another data rate, or disturbed ones. " + next_step();
}

std::string explain_refusal(const RateSearch& search) {
  const bool silent = std::ranges::all_of(
      search.tried, [](const Listening& heard) { return judge(heard) == BusVerdict::silent; });
  if (search.best() == nullptr && !silent) {
    return "It may also be CAN FD throughout, which this adapter does not offer.\n";
  }
  if (!met_fd(search)) return "";
  return "This adapter offers no CAN FD at the usual data rates, so the data rate cannot be told, "
         "nor these frames recorded: it takes an adapter that can.\n";
}

}  // namespace

std::string explain_data_rate(const RateSearch& search) {
  const DataRate data = search.data_rate();
  if (data.listenings == 0) {
    const Listening* best = search.best();
    if (best != nullptr && judge(*best) == BusVerdict::not_acknowledged) {
      return "Whether there are frames of CAN FD as well shows once somebody acknowledges.\n";
    }
    return search.refused.empty() ? "" : explain_refusal(search);
  }
  switch (data.heard) {
    case DataHeard::right_rate:
      return "It speaks CAN FD, and its data goes at " + rate_in_words(data.best->data_bit_rate()) +
             ".\n";
    case DataHeard::failing:
      return "It speaks CAN FD. Data comes in best at " +
             rate_in_words(data.best->data_bit_rate()) +
             ", but many frames fail: several data rates on one bus, a sample point that does not "
             "fit (--data-sample-point), or the wires.\n";
    case DataHeard::not_switched:
      return "It speaks CAN FD, but no frame switches to a faster rate for its data: any data rate "
             "does for these. Listen again (--seconds) while the board does other things.\n";
    case DataHeard::errors:
      return explain_failure(search);
    case DataHeard::nothing:
      break;
  }
  if (search.best() == nullptr) return "";
  return "With CAN FD switched on no frame of it was heard, and none failed: classical CAN, as far "
         "as that goes.\n";
}

}  // namespace foundling
