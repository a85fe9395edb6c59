#include "decoder/analysis/state_stretches.h"

#include <algorithm>

namespace foundling {

Stretches stretches_of(const ChannelSeries& channel, std::int64_t end_ns) {
  Stretches out;
  for (std::size_t i = 0; i < channel.readings.size(); ++i) {
    const Reading& r = channel.readings[i];
    const auto known = std::find(out.words.begin(), out.words.end(), r.state);
    const auto word = static_cast<std::size_t>(known - out.words.begin());
    if (known == out.words.end()) out.words.push_back(r.state);
    // A word that is written down once more is a stretch of its own: it may be the slip.
    if (!out.list.empty()) out.list.back().to_ns = r.t_ns;
    out.list.push_back({r.t_ns, end_ns, word, i});
  }
  std::erase_if(out.list, [](const Stretch& s) { return s.to_ns <= s.from_ns; });
  return out;
}

}  // namespace foundling
