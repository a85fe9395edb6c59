#include "decoder/analysis/unanswered.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <string>

#include "decoder/analysis/advice.h"
#include "decoder/analysis/claims.h"
#include "decoder/analysis/correlate.h"
#include "decoder/analysis/observation_priors.h"
#include "decoder/analysis/plateau_points.h"

namespace foundling {
namespace {

const Proposal* answer_of(std::span<const Proposal> proposals, const std::string& channel) {
  for (const Proposal& p : proposals) {
    if (p.channel == channel && p.rank == 1 && !p.derived && !p.inferred) return &p;
  }
  return nullptr;
}

int words_of(const ChannelSeries& channel) {
  std::set<std::string> words;
  for (const Reading& r : channel.readings) words.insert(r.state);
  return static_cast<int>(words.size());
}

int levels_of(const ChannelSeries& channel) {
  return channel.channel.is_state() ? words_of(channel) : count_levels(channel);
}

std::optional<Unanswered::Nearest> nearest_of(const ObservedSession& observed, std::size_t i) {
  const auto& rough = observed.rough[i];
  // One that tells less than it takes to name a single odd plateau is near to nothing.
  if (!rough || rough->saving < odd_plateau_bits) return {};
  return Unanswered::Nearest{observed.streams[rough->stream].place(rough->span), rough->plateaus,
                             rough->agree};
}

// Of a weak answer: how many levels its own field agrees with, where that was counted.
std::optional<Unanswered::Nearest> weak_nearest(const ObservedSession& observed, std::size_t i,
                                                const Proposal& p) {
  const auto counted = nearest_of(observed, i);
  if (counted && share_bits(counted->place, p.place)) {
    return Unanswered::Nearest{p.place, counted->levels, counted->agree};
  }
  return Unanswered::Nearest{p.place, p.levels, p.levels};
}

Unanswered of_weak(const Proposal& p, const std::string& name,
                   std::optional<Unanswered::Nearest> nearest) {
  Unanswered out{name, p.note.empty() ? "chance could have done as well" : p.note, {}, {}};
  out.nearest = nearest;
  out.advice = p.verdict == Verdict::ambiguous
                   ? "Move it alone, the others at rest, through at least " +
                         std::to_string(levels_needed) + " values in mixed order."
                   : "Set it again, to more and farther values in mixed order.";
  return out;
}

// What the channel's answer itself says in those frames: the rough field may lack a top bit that
// few levels moved. NaN where it has no line or no frame there.
double said_by(const Proposal& answer, std::span<const Stream> streams, const OddReading& odd) {
  for (const Stream& stream : streams) {
    if (stream.bus != answer.place.bus || !(stream.id == answer.place.id)) continue;
    if (stream.page != answer.place.page || !answer.table.empty()) continue;
    const std::vector<std::uint64_t> raw = stream.bits.raw(answer.place.span);
    std::vector<double> values;
    for (std::size_t i = stream.bits.first_at(odd.from_ns); i < stream.bits.first_at(odd.to_ns);
         ++i) {
      const double number = number_of(raw[i], answer.place.span.width(), coding_of(answer));
      values.push_back(answer.offset_fitted + answer.scale_fitted * number);
    }
    if (!values.empty()) return median_of(std::move(values));
  }
  return std::numeric_limits<double>::quiet_NaN();
}

// What contradicts a reading must be what answers the channel, wherever its low end may be.
bool may_accuse(const Proposal& answer) {
  if (answer.verdict != Verdict::weak) return true;
  return answer.note == ends_in_the_open_note && answer.chance <= strong_chance &&
         answer.levels >= levels_needed;
}

Unanswered of_too_little(const ChannelSeries& channel) {
  const int levels = levels_of(channel);
  const bool state = channel.channel.is_state();
  Unanswered out{channel.channel.name, {}, {}, {}};
  if (channel.readings.empty()) {
    out.reason = "it has no readings in this session";
  } else if (state) {
    out.reason = "it never changed";
  } else {
    out.reason = "it only had " + std::to_string(levels) + (levels == 1 ? " level" : " levels") +
                 "; at least " + std::to_string(levels_needed) + " are needed";
  }
  out.advice = state ? "Switch it back and forth at least " + std::to_string(changes_needed) +
                           " times, at irregular moments."
                     : "Set it to " + std::to_string(levels_needed) +
                           " or more different values in mixed order, as far apart as its limits "
                           "allow.";
  return out;
}

Unanswered of_nothing(const ChannelSeries& channel, std::optional<Unanswered::Nearest> nearest) {
  Unanswered out{channel.channel.name, {}, nearest, {}};
  const bool state = channel.channel.is_state();
  if (!nearest) {
    out.reason = std::string(state ? "no bits on the bus change with it"
                                   : "no field on the bus follows it") +
                 ", at any delay from 5 s before to 5 s after";
  } else {
    out.reason = std::string(state ? "the nearest bits agree" : "the nearest field agrees") +
                 " with " + std::to_string(nearest->agree) + " of " +
                 std::to_string(nearest->levels) + (state ? " readings" : " plateaus") +
                 ", no better than chance or another channel's " + (state ? "bits" : "field") +
                 " could";
  }
  out.advice =
      state ? "If the board reports it: check the words and the times written down, and that it "
              "was connected; then switch it alone, " +
                  std::to_string(changes_needed) + " times or more, at irregular moments."
            : "If the board measures it: check the unit, the decimal points and the times written "
              "down, and that the sensor was connected; then move it alone, in large steps held "
              "for 10 s or more.";
  return out;
}

}  // namespace

std::vector<Unanswered> unanswered(std::span<const ChannelSeries> channels,
                                   const ObservedSession& observed,
                                   std::span<const Proposal> proposals,
                                   const NearestBits& nearest_bits) {
  std::vector<Unanswered> out;
  for (std::size_t i = 0; i < channels.size(); ++i) {
    const ChannelSeries& channel = channels[i];
    const Proposal* const answer = answer_of(proposals, channel.channel.name);
    if (answer != nullptr && answer->verdict == Verdict::strong) continue;
    if (answer != nullptr) {
      out.push_back(of_weak(*answer, channel.channel.name, weak_nearest(observed, i, *answer)));
    } else if (levels_of(channel) < (channel.channel.is_state() ? 2 : levels_needed)) {
      out.push_back(of_too_little(channel));
    } else {
      const auto bits = nearest_bits.find(channel.channel.name);
      out.push_back(of_nothing(channel, bits != nearest_bits.end() ? std::optional(bits->second)
                                                                   : nearest_of(observed, i)));
    }
  }
  return out;
}

std::vector<UnfitReading> unfit_readings(std::span<const ChannelSeries> channels,
                                         const ObservedSession& observed,
                                         std::span<const Proposal> proposals) {
  std::vector<UnfitReading> out;
  for (std::size_t i = 0; i < channels.size(); ++i) {
    const ChannelSeries& channel = channels[i];
    const auto& rough = observed.rough[i];
    const CleanedChannel& cleaned = observed.cleaned[i];
    const Proposal* const answer = answer_of(proposals, channel.channel.name);
    if (!rough || cleaned.odd.empty() || answer == nullptr) continue;
    if (!may_accuse(*answer)) continue;
    if (!share_bits(answer->place, observed.streams[rough->stream].place(rough->span))) continue;
    for (OddReading odd : cleaned.odd) {
      const Reading& r = channel.readings[odd.reading];
      const double u = std::isfinite(r.uncertainty) ? r.uncertainty : 0;
      const double tolerance = slip_tolerance(rough->line, u);
      const double said = said_by(*answer, observed.streams, odd);
      if (std::isfinite(said)) odd.expected = said;
      if (std::abs(odd.expected - r.value) <= tolerance) continue;
      UnfitReading unfit;
      unfit.reading = r.id;
      unfit.channel = channel.channel.name;
      unfit.unit = channel.channel.unit;
      unfit.t_ns = r.t_ns;
      unfit.value = r.value;
      unfit.expected = odd.expected;
      unfit.kind = slip_kind(channels, channel, odd, tolerance);
      out.push_back(std::move(unfit));
    }
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const UnfitReading& a, const UnfitReading& b) { return a.t_ns < b.t_ns; });
  return out;
}

}  // namespace foundling
