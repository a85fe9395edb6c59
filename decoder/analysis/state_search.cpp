#include "decoder/analysis/state_search.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <random>
#include <set>

#include "decoder/analysis/observation_priors.h"
#include "decoder/analysis/odd_states.h"

namespace foundling {
namespace {

// Which part of each stretch is looked at: a board answers late, so ends are settled; a hand stamps
// late, so middles are, earlier than the stamps say.
struct Way {
  double skip_share, skip_s, tail_share;
  double delay_s;
};

constexpr std::array<Way, 11> ways{{{0.5, 3, 0, 0},
                                    {0.5, 3, 0, 1},
                                    {0.5, 3, 0, 2},
                                    {0.3, 6, 0.3, -2.5},
                                    {0.3, 6, 0.3, -1.25},
                                    {0.3, 6, 0.3, 0},
                                    {0.3, 6, 0.3, -3.75},
                                    {0.3, 6, 0.3, -5},
                                    {0.5, 3, 0, 3},
                                    {0.5, 3, 0, 4},
                                    {0.5, 3, 0, 5}}};

// What the bits of a stream said in each stretch: how many frames, and in how many each was set.
struct Counts {
  std::vector<std::uint32_t> frames;             // a stretch
  std::vector<std::vector<std::uint32_t>> ones;  // [stretch][bit]
  std::vector<bool> odd;                         // stretches that do not count
  int seen = 0;                                  // stretches with any frame

  [[nodiscard]] bool set(std::size_t stretch, std::size_t bit) const {
    return ones[stretch][bit] * 2 > frames[stretch];
  }
};

// A message that is sent on a change only goes on saying what it said last.
std::pair<std::size_t, std::size_t> frames_in(const Stream& stream, const Stretch& s,
                                              const Way& way) {
  const auto length = static_cast<double>(s.to_ns - s.from_ns);
  const double skip = std::min(way.skip_share * length, way.skip_s * 1e9);
  const double tail = way.tail_share * length;
  const auto shift = static_cast<std::int64_t>(way.delay_s * 1e9);
  const std::size_t from =
      stream.bits.first_at(s.from_ns + shift + static_cast<std::int64_t>(skip));
  const std::size_t to = stream.bits.first_at(s.to_ns + shift - static_cast<std::int64_t>(tail));
  if (from < to) return {from, to};
  return to > 0 ? std::pair(to - 1, to) : std::pair(to, to);
}

Counts count(const Stream& stream, const Stretches& stretches, const Way& way) {
  const auto bits = static_cast<std::size_t>(stream.bits.bits());
  const auto moving = stream.bits.moving();
  std::vector<std::uint32_t> ones(moving.size());
  Counts counts;
  for (const Stretch& s : stretches.list) {
    const auto [from, to] = frames_in(stream, s, way);
    counts.frames.push_back(static_cast<std::uint32_t>(to - from));
    counts.ones.emplace_back(bits, 0U);
    counts.odd.push_back(from == to);
    if (from == to) continue;
    ++counts.seen;
    stream.bits.ones_of_moving(from, to, ones);
    for (std::size_t k = 0; k < moving.size(); ++k) {
      counts.ones.back()[static_cast<std::size_t>(moving[k])] = ones[k];
    }
  }
  return counts;
}

// What a bit says for each word, by most of its stretches; none unless nearly all of them say so
// and not the same for all words.
std::optional<std::vector<bool>> code_of_bit(const Counts& counts, const Stretches& stretches,
                                             std::size_t bit) {
  const std::size_t words = stretches.words.size();
  std::vector<int> set(words, 0);
  std::vector<int> all(words, 0);
  for (std::size_t s = 0; s < stretches.list.size(); ++s) {
    if (counts.frames[s] == 0) continue;
    ++all[stretches.list[s].word];
    set[stretches.list[s].word] += counts.set(s, bit) ? 1 : 0;
  }
  std::vector<bool> code;
  int disagree = 0;
  for (std::size_t w = 0; w < words; ++w) {
    if (all[w] == 0) return {};
    code.push_back(set[w] * 2 > all[w]);
    disagree += std::min(set[w], all[w] - set[w]);
  }
  if (disagree > (1 - least_agreement) * counts.seen) return {};
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

struct Agreement {
  int disagree = 0;  // stretches
  double score = 0;  // see StateCandidate
  double share = 0;  // of the frames of the others in which the field shows its word's code
};

Agreement agreement_of(const Stream& stream, const Counts& counts, const Stretches& stretches,
                       std::size_t low, std::size_t high, const std::vector<std::uint64_t>& code) {
  Agreement out;
  double right = 0;
  double all = 0;
  double sum = 0;
  for (std::size_t s = 0; s < stretches.list.size(); ++s) {
    if (counts.frames[s] == 0) continue;
    const auto frames = static_cast<double>(counts.frames[s]);
    double worst = frames;
    bool same = true;
    for (std::size_t bit = low; bit <= high; ++bit) {
      if (!stream.bits.moves(static_cast<int>(bit))) continue;
      const bool one = ((code[stretches.list[s].word] >> (bit - low)) & 1U) != 0;
      const double says_so = counts.ones[s][bit];
      worst = std::min(worst, one ? says_so : frames - says_so);
      same = same && counts.set(s, bit) == one;
    }
    sum += 2 * worst / frames - 1;
    if (!same) {
      ++out.disagree;
      continue;
    }
    right += worst;
    all += frames;
  }
  out.share = all > 0 ? right / all : 0;
  out.score = counts.seen > 0 ? sum / counts.seen : 0;
  return out;
}

struct Bits {
  const Stream& stream;
  const Stretches& stretches;
  Counts counts;
  std::vector<std::optional<std::vector<bool>>> codes;
};

// As far up within the byte as bits answer to the word; still bits may lie between. Two words need
// one bit only: a neighbour belongs to them if it changes in the very same frames.
std::size_t high_end(const Bits& bits, std::size_t low) {
  const std::size_t words = bits.stretches.words.size();
  const auto agreement = [&](std::size_t from, std::size_t to) {
    const auto code = codes(bits.codes, bits.stream, from, to, words);
    return code ? agreement_of(bits.stream, bits.counts, bits.stretches, from, to, *code)
                : Agreement{static_cast<int>(bits.stretches.list.size()), 0};
  };
  const Agreement alone = words == 2 ? agreement(low, low) : Agreement{};
  std::size_t high = low;
  for (std::size_t bit = low + 1; bit < (low / 8 + 1) * 8; ++bit) {
    if (bits.codes[bit]) {
      if (words == 2) {
        const Agreement both = agreement(low, bit);
        if (both.disagree > alone.disagree || both.share < alone.share - 0.002) break;
      }
      high = bit;
    } else if (bits.stream.moving[bit] || bits.stream.owned[bit]) {
      break;
    }
  }
  return high;
}

std::vector<StateCandidate> candidates_in(const Stream& stream, std::size_t index,
                                          const Stretches& stretches, const Way& way) {
  std::vector<StateCandidate> found;
  const std::size_t words = stretches.words.size();
  Bits bits{stream, stretches, count(stream, stretches, way), {}};
  // What came a few times only agrees with anything.
  const auto all = static_cast<int>(stretches.list.size());
  if (bits.counts.seen * 2 < all || bits.counts.seen < std::min(5, all)) return found;
  bits.codes.resize(static_cast<std::size_t>(stream.bits.bits()));
  for (std::size_t bit = 0; bit < bits.codes.size(); ++bit) {
    if (stream.moving[bit]) bits.codes[bit] = code_of_bit(bits.counts, stretches, bit);
  }
  for (std::size_t low = 0; low < bits.codes.size(); ++low) {
    if (!bits.codes[low]) continue;
    const std::size_t high = high_end(bits, low);
    if (const auto code = codes(bits.codes, stream, low, high, words)) {
      StateCandidate c;
      c.stream = index;
      c.span = Span{bit_position(static_cast<int>(high)), bit_position(static_cast<int>(low))};
      for (std::size_t w = 0; w < words; ++w) c.states[(*code)[w]] = stretches.words[w];
      const Agreement agreement = agreement_of(stream, bits.counts, stretches, low, high, *code);
      c.stretches = bits.counts.seen;
      c.disagree = agreement.disagree;
      c.agreement = agreement.share;
      c.score = agreement.score;
      if (c.disagree <= (1 - least_agreement) * c.stretches) found.push_back(std::move(c));
      low = high;
    }
  }
  return found;
}

// By the time in which word and code agree, each stretch counted alike. A bit that flickers agrees
// half of the time with anything, and one that rests at the wrong word takes a whole stretch back.
bool better(const StateCandidate& a, const StateCandidate& b) { return a.score > b.score + 1e-9; }

std::vector<StateCandidate> candidates_of(std::span<const Stream> streams,
                                          const Stretches& stretches, const Way& way) {
  std::vector<StateCandidate> all;
  for (std::size_t s = 0; s < streams.size(); ++s) {
    auto found = candidates_in(streams[s], s, stretches, way);
    all.insert(all.end(), found.begin(), found.end());
  }
  std::stable_sort(all.begin(), all.end(), better);
  return all;
}

struct Answer {
  std::vector<StateCandidate> candidates;
  std::size_t ways_tried = 0;
};

// One way after the other until one convinces.
Answer answer_by_ways(std::span<const Stream> streams, const Stretches& stretches,
                      std::size_t most_ways) {
  Answer best;
  for (std::size_t i = 0; i < std::min(most_ways, ways.size()); ++i) {
    auto found = candidates_of(streams, stretches, ways[i]);
    ++best.ways_tried;
    const bool more = !found.empty() &&
                      (best.candidates.empty() || better(found.front(), best.candidates.front()));
    if (more) best.candidates = std::move(found);
    if (!best.candidates.empty() && best.candidates.front().score > 0.99) break;
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

// The same words dealt anew among the stretches, so that bits which change at the same instants for
// reasons of their own are given their chance; and with the stretches' lengths dealt anew as well.
Stretches redraw(const Stretches& plan, bool lengths_too, std::mt19937_64& random) {
  Stretches drawn{plan.words, plan.list};
  std::vector<std::size_t> words;
  for (const Stretch& s : plan.list) words.push_back(s.word);
  std::shuffle(words.begin(), words.end(), random);
  std::vector<std::int64_t> lengths;
  for (const Stretch& s : plan.list) lengths.push_back(s.to_ns - s.from_ns);
  if (lengths_too) std::shuffle(lengths.begin(), lengths.end(), random);
  std::int64_t at = plan.list.front().from_ns;
  for (std::size_t i = 0; i < lengths.size(); ++i) {
    drawn.list[i] = {at, at + lengths[i], words[i], i};
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
  for (std::size_t i = 1; i < stretches.list.size(); ++i) {
    search.changes += stretches.list[i].word != stretches.list[i - 1].word ? 1 : 0;
  }
  if (search.words < 2) return search;
  Answer answer = answer_by_ways(streams, stretches, ways.size());
  search.candidates = std::move(answer.candidates);
  if (search.candidates.empty()) return search;
  for (StateCandidate& c : search.candidates) {
    c.delay_s = delay_of(streams[c.stream], c, stretches);
    c.odd = odd_states(streams[c.stream], c, stretches);
  }
  std::mt19937_64 random(seed);
  search.chance = 0;
  for (const bool lengths_too : {true, false}) {
    int as_good = 0;
    for (int k = 0; k < draws; ++k) {
      const auto drawn =
          answer_by_ways(streams, redraw(stretches, lengths_too, random), answer.ways_tried)
              .candidates;
      if (!drawn.empty() && !better(search.candidates.front(), drawn.front())) ++as_good;
    }
    search.chance = std::max(search.chance, (1.0 + as_good) / (1.0 + draws));
  }
  return search;
}

}  // namespace foundling
