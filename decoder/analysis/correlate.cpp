#include "decoder/analysis/correlate.h"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "decoder/analysis/advice.h"
#include "decoder/analysis/chance_by_plan.h"
#include "decoder/analysis/claims.h"
#include "decoder/analysis/contest.h"
#include "decoder/analysis/curve_answers.h"
#include "decoder/analysis/curve_search.h"
#include "decoder/analysis/derived_channels.h"
#include "decoder/analysis/in_parallel.h"
#include "decoder/analysis/level_order.h"
#include "decoder/analysis/low_end.h"
#include "decoder/analysis/observed_session.h"
#include "decoder/analysis/reserved.h"
#include "decoder/analysis/series_inference.h"
#include "decoder/analysis/state_search.h"
#include "decoder/analysis/unanswered.h"

namespace foundling {
namespace {

constexpr double vague_scale = 0.02;  // of the scale, half its interval: no sound field is so vague

// Of a moving channel: less than half of the residual new from reading to reading is no sound
// match. Fields that carry their channel have 0.6 and more, rooms that warm like a board below
// 0.45.
constexpr double sound_coherence = 0.5;

std::int64_t end_of(std::span<const MessageSeries> messages) {
  std::int64_t end = 0;
  for (const MessageSeries& m : messages) {
    if (!m.t_ns.empty()) end = std::max(end, m.t_ns.back());
  }
  return end;
}

// Whether a field ends in the middle of a nibble, right above a bit that moves too and that no
// other channel's field has: then nobody can be sure that it ends there.
bool ends_in_the_open(std::span<const Stream> streams, const std::vector<Claim>& claims,
                      const Candidate& c) {
  const Span& span = c.field.span;
  const Stream& stream = streams[c.stream];
  if (!is_plain(c.field.coding)) return false;
  if (span.lsb.bit % 4 == 0 && !stream.ends_anywhere) return false;
  const auto below = next_below(span.lsb, span.order(), stream.bits.bits());
  if (!below || !stream.moving[static_cast<std::size_t>(bit_index(*below))]) return false;
  const FieldPlace place = stream.place({*below, *below});
  return std::none_of(claims.begin(), claims.end(), [&](const Claim& other) {
    if (!other.chosen) return false;
    const Candidate& theirs = other.search.candidates[*other.chosen];
    return share_bits(streams[theirs.stream].place(theirs.field.span), place);
  });
}

// Whether the board's fields end anywhere: several of those found, and not the odd one among many,
// begin inside a nibble.
bool fields_end_anywhere(const std::vector<Claim>& claims) {
  int found = 0;
  int inside = 0;
  for (const Claim& claim : claims) {
    if (claim.derived || claim.search.candidates.empty()) continue;
    const Candidate& c = claim.search.candidates.front();
    if (!follows(c, claim.search.rows.kind)) continue;
    ++found;
    inside += c.field.span.lsb.bit % 4 == 0 ? 0 : 1;
  }
  return inside >= 3 && inside * 4 >= found;
}

double half_width(const Interval& interval) { return (interval.high - interval.low) / 2; }

// Of levels that went one way: a coarse field steps as a drift does, so it must fit closely; a fine
// one must rest while its channel rests.
bool may_be_a_drift(std::span<const Stream> streams, const Claim& claim) {
  constexpr double drifts = 0.3;  // of steps the share is near 0, of a drift near 1
  const Candidate& c = claim.search.candidates[*claim.chosen];
  if (half_width(c.calibration.scale) > vague_scale * std::abs(c.calibration.line.slope)) {
    return true;
  }
  return drift_share(streams[c.stream], claim.search.rows, claim.search.delay_ns, c.field) > drifts;
}

Proposal numeric_proposal(std::span<const MessageSeries> messages, std::span<const Stream> streams,
                          const std::vector<Claim>& claims, const Claim& claim) {
  const Candidate& c = claim.search.candidates[*claim.chosen];
  Proposal p;
  p.channel = claim.channel->channel.name;
  p.unit = claim.channel->channel.unit;
  p.derived = claim.derived;
  p.place = streams[c.stream].place(c.field.span);
  p.reserved = reserved_codes(messages[streams[c.stream].message], p.place, c.field.coding);
  set_field(p, c);
  if (claim.retimed) p.delay_s = std::max(0.0, p.delay_s - retimed_lead_s);
  set_line(p, c);
  p.levels = claim.search.rows.levels;
  p.chance = claim.chance;
  p.chance_by_plan = claim.chance_by_plan;
  p.ambiguous_with = claim.ambiguous_with;
  if (!p.ambiguous_with.empty()) {
    p.verdict = Verdict::ambiguous;
    p.note = "moved together with other channels";
  } else if (claim.derived && claim.search.rows.kind == ChannelKind::sample) {
    p.note =
        "integrated over the session: every error of a reading or its time adds up in the scale";
  } else if (half_width(p.scale_interval) > vague_scale * std::abs(p.scale_fitted)) {
    p.note =
        "the scale is known to more than 2 % only: more levels, further apart, would settle it";
  } else if (claim.search.rows.kind == ChannelKind::sample && c.coherence < sound_coherence) {
    p.note =
        "what is left wanders slowly, as two trends leave it that have nothing to do with "
        "each other: move it in steps, or faster, to be sure";
  } else if (at_limit_of_lag(c.lag)) {
    p.note = lag_at_limit_note;
  } else if (went_one_way(claim.search.rows)) {
    p.note = "its levels went one way with time, as a drift does: do them again in mixed order";
  } else if (ends_in_the_open(streams, claims, c)) {
    p.note = ends_in_the_open_note;
  } else if (p.chance <= strong_chance && p.levels >= levels_needed) {
    p.verdict = Verdict::strong;
  } else {
    p.note = p.levels < levels_needed ? "too few levels" : "chance could have done as well";
  }
  for (std::size_t k = 0; k < claim.search.candidates.size(); ++k) {
    const Candidate& other = claim.search.candidates[k];
    // A copy is one that was seen at most of the levels: a few frames agree with anything.
    const bool seen = other.calibration.levels.size() * 3 >= c.calibration.levels.size() * 2;
    if (k == *claim.chosen || !seen || !follows(other, claim.search.rows.kind)) continue;
    const Stream& stream = streams[other.stream];
    p.same_as.push_back(stream.place(other.field.span));
  }
  return p;
}

struct StateAnswers {
  std::vector<Proposal> proposals;
  std::vector<std::string> names;          // of the channels with a strong one, else empty
  std::vector<std::vector<OddState>> odd;  // one a proposal
  std::vector<FieldPlace> taken;
  std::vector<std::string> advice;
  NearestBits nearest;
};

StateAnswers answer_states(std::span<const Stream> streams, std::span<const ChannelSeries> channels,
                           std::int64_t end_ns, std::uint64_t seed) {
  StateAnswers out;
  for (const ChannelSeries& channel : channels) {
    if (!channel.channel.is_state()) continue;
    const StateSearch search = search_states(streams, channel, end_ns, seed);
    const bool believable = !search.candidates.empty() && search.chance <= believable_chance;
    if (search.words < 2 || (!search.candidates.empty() && search.chance > strong_chance)) {
      out.advice.push_back(advise_words(channel, search));
    }
    if (search.candidates.empty()) continue;
    const StateCandidate& first = search.candidates.front();
    out.nearest[channel.channel.name] = {streams[first.stream].place(first.span), first.stretches,
                                         first.stretches - first.disagree};
    if (!believable) continue;
    Proposal p;
    p.channel = channel.channel.name;
    p.unit = channel.channel.unit;
    p.place = streams[first.stream].place(first.span);
    p.states = first.states;
    p.delay_s = first.delay_s;
    p.levels = search.words;
    p.chance = search.chance;
    p.scale_fitted = p.scale;
    p.scale_interval = {p.scale, p.scale};
    p.verdict = search.chance <= strong_chance ? Verdict::strong : Verdict::weak;
    out.taken.push_back(p.place);
    for (std::size_t k = 1; k < search.candidates.size(); ++k) {
      const StateCandidate& other = search.candidates[k];
      if (other.score < first.score - 0.01) continue;
      p.same_as.push_back(streams[other.stream].place(other.span));
    }
    out.proposals.push_back(std::move(p));
    out.names.push_back(search.chance <= strong_chance ? channel.channel.name : "");
    out.odd.push_back(first.odd);
  }
  return out;
}

// The readings of a switch whose field says another word.
void append_odd_states(std::span<const ChannelSeries> channels, const StateAnswers& states,
                       Correlation& result) {
  for (std::size_t k = 0; k < states.odd.size(); ++k) {
    if (states.names[k].empty()) continue;
    const auto channel =
        std::find_if(channels.begin(), channels.end(),
                     [&](const ChannelSeries& c) { return c.channel.name == states.names[k]; });
    for (const OddState& odd : states.odd[k]) {
      const Reading& r = channel->readings[odd.reading];
      UnfitReading unfit;
      unfit.reading = r.id;
      unfit.channel = channel->channel.name;
      unfit.unit = channel->channel.unit;
      unfit.t_ns = r.t_ns;
      unfit.state = r.state;
      unfit.expected_state = odd.shown;
      const bool once_more = odd.reading > 0 && channel->readings[odd.reading - 1].state == r.state;
      unfit.kind = once_more ? Slip::previous : Slip::unfit;
      result.unfit_readings.push_back(std::move(unfit));
    }
  }
  std::stable_sort(result.unfit_readings.begin(), result.unfit_readings.end(),
                   [](const UnfitReading& a, const UnfitReading& b) { return a.t_ns < b.t_ns; });
}

// Codes that stand for no value, as the frames left out show them.
void add_substitute_codes(std::span<const MessageSeries> messages, const ObservedSession& observed,
                          Proposal& p) {
  if (!p.states.empty()) return;
  for (std::size_t m = 0; m < messages.size(); ++m) {
    if (messages[m].bus != p.place.bus || !(messages[m].id == p.place.id)) continue;
    const SubstituteCodes codes =
        substitute_codes(messages[m], observed.left_out[m], p.place, coding_of(p));
    for (const std::uint64_t code : codes.all) {
      if (std::find(p.reserved.begin(), p.reserved.end(), code) == p.reserved.end()) {
        p.reserved.push_back(code);
      }
    }
    p.startup_codes = codes.startup;
  }
}

// After all others: those are the company.
void add_reserved_in_company(std::span<const MessageSeries> messages,
                             std::vector<Proposal>& proposals) {
  for (Proposal& p : proposals) {
    if (!p.reserved.empty()) continue;
    for (const MessageSeries& message : messages) {
      if (message.bus != p.place.bus || !(message.id == p.place.id)) continue;
      p.reserved = reserved_in_company(message, p, proposals);
    }
  }
}

// Lines that seemed to bend, of channels for which no curve was found after all.
void add_bent_lines(std::vector<Proposal>& proposals, std::vector<Proposal> bent) {
  for (Proposal& line : bent) {
    const bool answered =
        std::any_of(proposals.begin(), proposals.end(), [&](const Proposal& other) {
          return other.channel == line.channel || share_bits(other.place, line.place);
        });
    if (answered) continue;
    if (line.verdict == Verdict::strong) {
      line.verdict = Verdict::weak;
      line.note = "its values bend off the line, though along no curve that holds";
    }
    proposals.push_back(std::move(line));
  }
}

// Readings that the cleaning took away.
std::size_t forgotten(const ChannelSeries& written, const ChannelSeries& cleaned) {
  const auto known = [](const ChannelSeries& channel) {
    return std::count_if(channel.readings.begin(), channel.readings.end(),
                         [](const Reading& r) { return std::isfinite(r.value); });
  };
  return static_cast<std::size_t>(known(written) - known(cleaned));
}

// The channel's levels as they were drawn and might have been; none where it was not planned.
const std::vector<std::vector<double>>* planned_levels(const PlannedStimuli* planned,
                                                       const ChannelSeries& channel) {
  if (planned == nullptr) return nullptr;
  const auto found = planned->levels.find(channel.channel.name);
  return found == planned->levels.end() ? nullptr : &found->second;
}

}  // namespace

Correlation correlate(std::span<const MessageSeries> messages,
                      std::span<const ChannelSeries> as_written, const Survey& survey,
                      const CorrelateOptions& options) {
  Correlation result;
  const std::int64_t end_ns = end_of(messages);
  ObservedSession observed = observe_session(messages, as_written, survey, end_ns);
  std::vector<Stream>& streams = observed.streams;
  const std::span<const ChannelSeries> channels = observed.channels;
  StateAnswers states = answer_states(streams, channels, end_ns, options.seed);
  result.advice = std::move(states.advice);

  const std::vector<ChannelSeries> derived = derive_channels(observed.repaired, end_ns);
  std::vector<Claim> claims;
  for (std::size_t i = 0; i < channels.size(); ++i) {
    if (channels[i].channel.is_state()) continue;
    Claim claim;
    claim.channel = &channels[i];
    claim.left_out = forgotten(as_written[i], channels[i]);
    claim.retimed = observed.cleaned[i].retimed;
    claims.push_back(std::move(claim));
  }
  for (const ChannelSeries& channel : derived) {
    Claim claim;
    claim.channel = &channel;
    claim.derived = true;
    claims.push_back(std::move(claim));
  }
  const auto search_all = [&] {
    in_parallel(claims.size(), [&](std::size_t i) {
      claims[i].search = search_channel(streams, *claims[i].channel, end_ns);
    });
  };
  search_all();
  if (fields_end_anywhere(claims)) {  // then alignment says nothing: once more without it
    for (Stream& stream : streams) stream.ends_anywhere = true;
    search_all();
  }
  for (const Claim& claim : claims) {
    const int levels = claim.search.rows.levels;
    if (!claim.derived && levels < levels_needed) {
      result.advice.push_back(advise_levels(*claim.channel, levels));
    }
  }
  contest_bits(streams, claims, end_ns);
  settle_claims(streams, claims, states.taken);

  in_parallel(claims.size(), [&](std::size_t i) {
    Claim& claim = claims[i];
    if (!claim.chosen) return;
    const Candidate& chosen = claim.search.candidates[*claim.chosen];
    const auto* levels = planned_levels(options.planned, *claim.channel);
    if (levels == nullptr) {
      claim.chance =
          chance_of(streams, claim.search, chosen.field.r2, options.seed, claim.left_out);
      return;
    }
    const auto& stretches = options.planned->stretches;
    const double r2 = planned_r2(streams[chosen.stream], stretches, levels->front(),
                                 claim.search.delay_ns, chosen.field);
    claim.chance = chance_by_plan(streams, stretches, *levels, r2);
    claim.chance_by_plan = true;
  });
  std::vector<Proposal> bent;
  for (const Claim& claim : claims) {
    if (!claim.chosen) continue;
    const double limit = claim.derived ? strong_chance : believable_chance;
    if (claim.chance > limit) continue;
    if (went_one_way(claim.search.rows) && may_be_a_drift(streams, claim)) continue;
    // A moving channel may follow its field along a curve, and a line be near enough to be chosen.
    const Candidate& chosen = claim.search.candidates[*claim.chosen];
    const bool may_bend = claim.search.rows.kind == ChannelKind::sample && !claim.derived &&
                          bends(streams[chosen.stream], *claim.channel, chosen, end_ns);
    (may_bend ? bent : result.proposals)
        .push_back(numeric_proposal(messages, streams, claims, claim));
  }
  for (Proposal& p : states.proposals) result.proposals.push_back(std::move(p));
  // What settles the most comes first: sets that moved together, then single channels.
  std::vector<std::string> advice = advise_separation(claims);
  std::move(result.advice.begin(), result.advice.end(), std::back_inserter(advice));
  result.advice = std::move(advice);
  for (auto& sentence : advise_range(result.proposals))
    result.advice.push_back(std::move(sentence));
  const auto inferred = infer_series(messages, streams, channels, result.proposals, end_ns);
  result.proposals.insert(result.proposals.end(), inferred.begin(), inferred.end());
  auto curves = answer_curves(messages, streams, channels, result.proposals, end_ns, options.seed);
  std::move(curves.begin(), curves.end(), std::back_inserter(result.proposals));
  add_bent_lines(result.proposals, std::move(bent));
  for (Proposal& p : result.proposals) add_substitute_codes(messages, observed, p);
  add_reserved_in_company(messages, result.proposals);
  result.unanswered = unanswered(as_written, observed, result.proposals, states.nearest);
  result.unfit_readings = unfit_readings(as_written, observed, result.proposals);
  append_odd_states(as_written, states, result);
  return result;
}

}  // namespace foundling
