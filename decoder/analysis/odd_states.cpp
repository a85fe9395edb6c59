#include "decoder/analysis/odd_states.h"

#include <algorithm>
#include <optional>
#include <set>
#include <span>
#include <string>

#include "decoder/analysis/observation_priors.h"

namespace foundling {
namespace {

// The later part of a stretch, in which the board has answered what was set at its begin.
std::int64_t answered_ns(const Stretch& s) {
  return s.from_ns +
         std::min((s.to_ns - s.from_ns) / 2, static_cast<std::int64_t>(most_board_lag_s * 1e9));
}

// The one other word that the field shows while a reading is said to hold, as long as a hand could
// be late and the board may take to answer: then the word is wrong, not the moment.
std::optional<std::string> word_instead(const Stream& stream, const StateCandidate& candidate,
                                        std::span<const std::uint64_t> raw,
                                        const Stretches& stretches, std::size_t k) {
  const Stretch& s = stretches.list[k];
  const auto word_at = [&](std::size_t frame) -> const std::string* {
    const auto word = candidate.states.find(raw[frame]);
    return word == candidate.states.end() ? nullptr : &word->second;
  };
  const std::size_t begin = stream.bits.first_at(answered_ns(s));
  std::size_t to = stream.bits.first_at(s.to_ns);
  // The next one may have been true before it was stamped.
  const std::size_t half = begin + (to - begin) / 2;
  const std::string* const next =
      k + 1 < stretches.list.size() ? &stretches.words[stretches.list[k + 1].word] : nullptr;
  while (next != nullptr && to > half && word_at(to - 1) != nullptr && *word_at(to - 1) == *next) {
    --to;
  }
  if (to < begin + least_frames) return {};
  std::set<std::string> shown;
  for (std::size_t i = begin; i < to; ++i) {
    if (const std::string* const word = word_at(i)) shown.insert(*word);
  }
  const std::string& own = stretches.words[s.word];
  if (shown.size() != 1 || *shown.begin() == own) return {};
  // Before a word that was written down once more, the field showed it for the reading before.
  if (k == 0 || stretches.list[k - 1].word == s.word) return *shown.begin();
  const auto late = static_cast<std::int64_t>(most_lateness_s * 1e9);
  const std::int64_t from = std::max(answered_ns(stretches.list[k - 1]), s.from_ns - late);
  for (std::size_t i = stream.bits.first_at(from); i < begin; ++i) {
    const std::string* const word = word_at(i);
    if (word != nullptr && *word == own) return {};
  }
  return *shown.begin();
}

}  // namespace

std::vector<OddState> odd_states(const Stream& stream, const StateCandidate& candidate,
                                 const Stretches& stretches) {
  std::vector<OddState> odd;
  const auto raw = stream.bits.raw(candidate.span);
  for (std::size_t k = 0; k < stretches.list.size(); ++k) {
    if (const auto shown = word_instead(stream, candidate, raw, stretches, k)) {
      odd.push_back({stretches.list[k].reading, *shown});
    }
  }
  return odd;
}

}  // namespace foundling
