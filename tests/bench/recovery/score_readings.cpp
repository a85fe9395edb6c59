// The figures of the readings: which of the wrong ones were named, and which of the right ones were
// accused.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>
#include <set>

#include "tests/bench/recovery/score.h"
#include "tests/bench/recovery/slip_kinds.h"

namespace foundling::recovery {
namespace {

using Key = std::pair<std::string, std::int64_t>;  // channel and row

class ReadingJudge {
 public:
  ReadingJudge(const RandomBoard& board, const Correlation& answer, BoardScore& score)
      : board_(board), score_(score) {
    for (const UnfitReading& unfit : answer.unfit_readings) {
      named_.emplace(Key{unfit.channel, unfit.reading}, unfit.kind);
    }
  }

  void run() {
    for (std::size_t c = 0; c < board_.channels.size(); ++c) {
      const TrueChannel& channel = board_.truth.channels[c];
      std::map<std::int64_t, Slip> slips;
      for (const TrueSlip& slip : channel.slips) slips.emplace(slip.reading, slip.kind);
      const std::set<std::int64_t> doubtful(channel.doubtful.begin(), channel.doubtful.end());
      for (const Reading& reading : board_.channels[c].readings) {
        const auto slip = slips.find(reading.id);
        if (slip != slips.end()) {
          judge_slip(c, reading, slip->second);
        } else if (doubtful.count(reading.id) == 0) {
          judge_good(channel.name, reading);
        }
        named_.erase({channel.name, reading.id});
      }
    }
    for (const auto& [key, kind] : named_) {  // readings that there are not
      score_.figures.accused.add(true);
      score_.misses.push_back("accused: " + key.first + " has no reading " +
                              std::to_string(key.second));
    }
  }

 private:
  // Only where the board says something against it.
  void judge_slip(std::size_t c, const Reading& reading, Slip planted) {
    const TrueChannel& channel = board_.truth.channels[c];
    if (!channel.excited) return;
    const auto named = named_.find({channel.name, reading.id});
    score_.figures.slips_named.add(named != named_.end());
    if (named == named_.end()) {
      score_.misses.push_back("slip not named: " + describe(channel.name, reading) + " | true " +
                              word_of(planted));
      return;
    }
    const bool right = named->second == planted || could_be(named->second, board_, c, reading);
    score_.figures.slip_kinds.add(right);
    if (!right) {
      score_.misses.push_back("kind of slip: " + describe(channel.name, reading) + " | true " +
                              word_of(planted) + " | said " + word_of(named->second));
    }
  }

  void judge_good(const std::string& channel, const Reading& reading) {
    const auto named = named_.find({channel, reading.id});
    score_.figures.accused.add(named != named_.end());
    if (named == named_.end()) return;
    score_.misses.push_back("accused: " + describe(channel, reading) + " | said " +
                            word_of(named->second));
  }

  static std::string describe(const std::string& channel, const Reading& reading) {
    char text[80];
    std::snprintf(text, sizeof text, " reading %lld at %.1f s, ",
                  static_cast<long long>(reading.id), static_cast<double>(reading.t_ns) * 1e-9);
    std::string line = channel + text;
    if (!reading.state.empty()) return line + reading.state;
    std::snprintf(text, sizeof text, "%.6g", reading.value);
    return line + text;
  }

  const RandomBoard& board_;
  BoardScore& score_;
  std::map<Key, Slip> named_;
};

}  // namespace

void score_readings(const RandomBoard& board, const Correlation& answer, BoardScore& score) {
  ReadingJudge(board, answer, score).run();
}

}  // namespace foundling::recovery
