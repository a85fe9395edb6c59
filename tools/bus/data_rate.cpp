#include "tools/bus/data_rate.h"

#include <algorithm>

namespace foundling {
namespace {

// Two: an FD frame's CRC of 17 or 21 bits lets next to no garbled one pass, and the first may be
// cut by the moment of switching on.
constexpr std::uint64_t frames_that_prove = 2;
// Fewer errors than this may come from the moment of switching on.
constexpr std::uint64_t enough_errors = 3;

}  // namespace

DataHeard judge_data(const Listening& heard) {
  const std::uint64_t wrong = heard.faults().all() - heard.faults().acknowledge;
  if (heard.switched() >= frames_that_prove) {
    // Classical frames do not fail at a wrong data rate and so do not count.
    return wrong >= enough_errors && wrong * 10 > heard.switched() ? DataHeard::failing
                                                                   : DataHeard::right_rate;
  }
  if (wrong >= enough_errors) return DataHeard::errors;
  return heard.fd_frames() >= frames_that_prove ? DataHeard::not_switched : DataHeard::nothing;
}

DataRate data_rate_of(std::span<const Listening> tried, std::uint32_t bit_rate) {
  DataRate out;
  for (const Listening& heard : tried) {
    if (heard.data_bit_rate() == 0) continue;
    if (bit_rate != 0 && heard.bit_rate() != bit_rate) continue;
    const DataHeard judged = judge_data(heard);
    const std::uint64_t errors = heard.faults().all();
    out.errors = out.listenings == 0 ? errors : std::min(out.errors, errors);
    const bool more =
        out.best != nullptr && judged == out.heard && heard.switched() > out.best->switched();
    // The order of the words is the order of how much they say.
    if (out.listenings == 0 || judged < out.heard || more) {
      out.heard = judged;
      const bool frames = judged <= DataHeard::not_switched;
      out.best = frames ? &heard : nullptr;
    }
    ++out.listenings;
  }
  return out;
}

}  // namespace foundling
