#include "decoder/analysis/state_search.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <random>
#include <set>

namespace foundling {
namespace {

constexpr double settled = 0.98;  // share of a word's time in which a bit must say the same

struct Stretch {
  std::int64_t from_ns;
  std::int64_t to_ns;
  std::size_t word;
};

struct Stretches {
  std::vector<std::string> words;
  std::vector<Stretch> list;
};

Stretches stretches_of(const ChannelSeries& channel, std::int64_t end_ns) {
  Stretches out;
  for (const Reading& r : channel.readings) {
    const auto known = std::find(out.words.begin(), out.words.end(), r.state);
    const auto word = static_cast<std::size_t>(known - out.words.begin());
    if (known == out.words.end()) out.words.push_back(r.state);
    if (!out.list.empty() && out.list.back().word == word) continue;
    if (!out.list.empty()) out.list.back().to_ns = r.t_ns;
    out.list.push_back({r.t_ns, end_ns, word});
  }
  std::erase_if(out.list, [](const Stretch& s) { return s.to_ns <= s.from_ns; });
  return out;
}

// For each word: how many frames, and in how many of them each bit was set.
struct Counts {
  std::vector<double> frames;
  std::vector<std::vector<double>> ones;  // [word][bit]
  std::size_t stretches = 0;              // with any frame
};

// The first half of a stretch, 3 s at most, is left to the board to answer.
Counts count(const Stream& stream, const Stretches& stretches) {
  const auto bits = static_cast<std::size_t>(stream.bits.bits());
  const auto moving = stream.bits.moving();
  std::vector<std::uint32_t> ones(moving.size());
  Counts counts{
      std::vector<double>(stretches.words.size(), 0),
      std::vector<std::vector<double>>(stretches.words.size(), std::vector<double>(bits, 0)), 0};
  for (const Stretch& s : stretches.list) {
    const std::int64_t skip = std::min((s.to_ns - s.from_ns) / 2, std::int64_t{3'000'000'000});
    const std::size_t from = stream.bits.first_at(s.from_ns + skip);
    const std::size_t to = stream.bits.first_at(s.to_ns);
    if (from >= to) continue;
    ++counts.stretches;
    counts.frames[s.word] += static_cast<double>(to - from);
    stream.bits.ones_of_moving(from, to, ones);
    for (std::size_t k = 0; k < moving.size(); ++k) {
      counts.ones[s.word][static_cast<std::size_t>(moving[k])] += ones[k];
    }
  }
  return counts;
}

// What a bit says for each word; none unless it always says the same for one word, and not the
// same for all.
std::optional<std::vector<bool>> code_of_bit(const Counts& counts, std::size_t bit) {
  std::vector<bool> code;
  for (std::size_t w = 0; w < counts.frames.size(); ++w) {
    const double share = counts.ones[w][bit] / counts.frames[w];
    if (share > 1 - settled && share < settled) return {};
    code.push_back(share > 0.5);
  }
  if (std::all_of(code.begin(), code.end(), [&](bool b) { return b == code.front(); })) return {};
  return code;
}

// The words' codes in the bits [low, high] of a byte, or none when two words share one.
std::optional<std::vector<std::uint64_t>> codes(
    const std::vector<std::optional<std::vector<bool>>>& bit_codes, const Stream& stream,
    std::size_t low, std::size_t high, std::size_t words) {
  std::vector<std::uint64_t> out(words, 0);
  for (std::size_t bit = low; bit <= high; ++bit) {
    const bool still = stream.bits.ones(static_cast<int>(bit), 0, 1) != 0;
    for (std::size_t w = 0; w < words; ++w) {
      const bool one = bit_codes[bit] ? (*bit_codes[bit])[w] : still;
      if (one) out[w] |= std::uint64_t{1} << (bit - low);
    }
  }
  if (std::set<std::uint64_t>(out.begin(), out.end()).size() != words) return {};
  return out;
}

// Share of frames, over all words, in which the field shows its word's code.
double agreement_of(const Counts& counts, std::size_t low, std::size_t high,
                    const std::vector<std::uint64_t>& code) {
  double right = 0;
  double all = 0;
  for (std::size_t w = 0; w < code.size(); ++w) {
    double worst = counts.frames[w];
    for (std::size_t bit = low; bit <= high; ++bit) {
      const bool one = ((code[w] >> (bit - low)) & 1U) != 0;
      const double says_so = counts.ones[w][bit];
      const bool moves = says_so > 0 && says_so < counts.frames[w];
      if (moves) worst = std::min(worst, one ? says_so : counts.frames[w] - says_so);
    }
    right += worst;
    all += counts.frames[w];
  }
  return all > 0 ? right / all : 0;
}

// As far up within the byte as bits answer to the word; still bits may lie between. Two words need
// one bit only: a neighbour belongs to them if it changes in the very same frames.
std::size_t high_end(const Stream& stream, const Counts& counts,
                     const std::vector<std::optional<std::vector<bool>>>& bit_codes,
                     std::size_t low) {
  const std::size_t words = counts.frames.size();
  const auto agreement = [&](std::size_t high) {
    const auto code = codes(bit_codes, stream, low, high, words);
    return code ? agreement_of(counts, low, high, *code) : 0;
  };
  const double alone = words == 2 ? agreement(low) : 0;
  std::size_t high = low;
  for (std::size_t bit = low + 1; bit < (low / 8 + 1) * 8; ++bit) {
    if (bit_codes[bit]) {
      if (words == 2 && agreement(bit) < alone - 0.002) break;
      high = bit;
    } else if (stream.moving[bit] || stream.owned[bit]) {
      break;
    }
  }
  return high;
}

std::vector<StateCandidate> candidates_in(const Stream& stream, std::size_t index,
                                          const Stretches& stretches) {
  std::vector<StateCandidate> found;
  const std::size_t words = stretches.words.size();
  const Counts counts = count(stream, stretches);
  // What came a few times only agrees with anything.
  const std::size_t all = stretches.list.size();
  if (counts.stretches * 2 < all || counts.stretches < std::min<std::size_t>(5, all)) return found;
  if (std::any_of(counts.frames.begin(), counts.frames.end(), [](double n) { return n < 2; })) {
    return found;
  }
  std::vector<std::optional<std::vector<bool>>> bit_codes(
      static_cast<std::size_t>(stream.bits.bits()));
  for (std::size_t bit = 0; bit < bit_codes.size(); ++bit) {
    if (stream.moving[bit]) bit_codes[bit] = code_of_bit(counts, bit);
  }
  for (std::size_t low = 0; low < bit_codes.size(); ++low) {
    if (!bit_codes[low]) continue;
    const std::size_t high = high_end(stream, counts, bit_codes, low);
    if (const auto code = codes(bit_codes, stream, low, high, words)) {
      StateCandidate c;
      c.stream = index;
      c.span = Span{bit_position(static_cast<int>(high)), bit_position(static_cast<int>(low))};
      for (std::size_t w = 0; w < words; ++w) c.states[(*code)[w]] = stretches.words[w];
      c.agreement = agreement_of(counts, low, high, *code);
      found.push_back(std::move(c));
      low = high;
    }
  }
  return found;
}

std::vector<StateCandidate> candidates_of(std::span<const Stream> streams,
                                          const Stretches& stretches) {
  std::vector<StateCandidate> all;
  for (std::size_t s = 0; s < streams.size(); ++s) {
    auto found = candidates_in(streams[s], s, stretches);
    all.insert(all.end(), found.begin(), found.end());
  }
  std::stable_sort(all.begin(), all.end(), [](const StateCandidate& a, const StateCandidate& b) {
    return a.agreement > b.agreement;
  });
  return all;
}

// The clock behind the readings may be seconds off: later answers are tried until one convinces.
struct Answer {
  std::vector<StateCandidate> candidates;
  std::size_t delays_tried = 0;
};

Answer answer_with_delay(std::span<const Stream> streams, const Stretches& stretches,
                         std::size_t most_delays) {
  constexpr std::array<double, 6> delays_s{0, 1, 2, 3, 4, 5};
  Answer best;
  for (std::size_t i = 0; i < std::min(most_delays, delays_s.size()); ++i) {
    Stretches late = stretches;
    for (Stretch& s : late.list) {
      s.from_ns += static_cast<std::int64_t>(delays_s[i] * 1e9);
      s.to_ns += static_cast<std::int64_t>(delays_s[i] * 1e9);
    }
    auto found = candidates_of(streams, late);
    ++best.delays_tried;
    const bool better =
        !found.empty() && (best.candidates.empty() ||
                           found.front().agreement > best.candidates.front().agreement + 1e-4);
    if (better) best.candidates = std::move(found);
    if (!best.candidates.empty() && best.candidates.front().agreement > 0.995) break;
  }
  return best;
}

double delay_of(const Stream& stream, const StateCandidate& candidate, const Stretches& stretches) {
  std::vector<double> delays;
  const auto raw = stream.bits.raw(candidate.span);
  for (std::size_t k = 1; k < stretches.list.size(); ++k) {
    const Stretch& s = stretches.list[k];
    for (std::size_t i = stream.bits.first_at(s.from_ns); i < stream.bits.first_at(s.to_ns); ++i) {
      const auto word = candidate.states.find(raw[i]);
      if (word == candidate.states.end() || word->second != stretches.words[s.word]) continue;
      delays.push_back(static_cast<double>(stream.bits.times()[i] - s.from_ns) * 1e-9);
      break;
    }
  }
  if (delays.empty()) return 0;
  const auto middle = delays.begin() + static_cast<std::ptrdiff_t>(delays.size() / 2);
  std::nth_element(delays.begin(), middle, delays.end());
  // On average the board had its answer half a period before the frame that told it.
  return std::max(0.0, *middle - stream.period_s / 2);
}

// The same stretches in another order: lengths and words are dealt anew.
Stretches redraw(const Stretches& plan, std::mt19937_64& random) {
  Stretches drawn{plan.words, plan.list};
  std::vector<std::int64_t> lengths;
  for (const Stretch& s : plan.list) lengths.push_back(s.to_ns - s.from_ns);
  std::shuffle(lengths.begin(), lengths.end(), random);
  std::vector<std::size_t> words;
  for (const Stretch& s : plan.list) words.push_back(s.word);
  std::shuffle(words.begin(), words.end(), random);
  std::int64_t at = plan.list.front().from_ns;
  for (std::size_t i = 0; i < lengths.size(); ++i) {
    drawn.list[i] = {at, at + lengths[i], words[i]};
    at += lengths[i];
  }
  return drawn;
}

}  // namespace

StateSearch search_states(std::span<const Stream> streams, const ChannelSeries& channel,
                          std::int64_t end_ns, std::uint64_t seed, int draws) {
  StateSearch search;
  const Stretches stretches = stretches_of(channel, end_ns);
  search.words = static_cast<int>(stretches.words.size());
  search.changes = std::max(0, static_cast<int>(stretches.list.size()) - 1);
  if (search.words < 2) return search;
  Answer answer = answer_with_delay(streams, stretches, 6);
  search.candidates = std::move(answer.candidates);
  if (search.candidates.empty()) return search;
  for (StateCandidate& c : search.candidates) {
    c.delay_s = delay_of(streams[c.stream], c, stretches);
  }
  std::mt19937_64 random(seed);
  int as_good = 0;
  for (int k = 0; k < draws; ++k) {
    const auto drawn =
        answer_with_delay(streams, redraw(stretches, random), answer.delays_tried).candidates;
    if (!drawn.empty() && drawn.front().agreement >= search.candidates.front().agreement) ++as_good;
  }
  search.chance = (1.0 + as_good) / (1.0 + draws);
  return search;
}

}  // namespace foundling
