#include "decoder/analysis/curve_answers.h"

#include <algorithm>
#include <cmath>

#include "decoder/analysis/claims.h"
#include "decoder/analysis/correlate.h"
#include "decoder/analysis/curve_search.h"
#include "decoder/analysis/curve_table.h"
#include "decoder/analysis/in_parallel.h"
#include "decoder/analysis/level_order.h"
#include "decoder/analysis/reserved.h"

namespace foundling {
namespace {

constexpr int strong_levels = 8;  // fewer points could follow many a curve
// Bits of a field whose curve can be told: four codes from one to the next of eight levels, where
// the curve is steep, leave one where it is flat (derived: 8 * 4 = 2^5, and one bit more).
constexpr int least_width = 6;

void own_bits(std::vector<Stream>& streams, const FieldPlace& place) {
  for (Stream& stream : streams) {
    const bool other_page = stream.page && place.page && !(*stream.page == *place.page);
    if (stream.bus != place.bus || !(stream.id == place.id) || other_page) continue;
    for (int i = 0; i < place.span.width(); ++i) {
      const auto bit = static_cast<std::size_t>(bit_index(place.span.position(i)));
      if (bit >= stream.owned.size()) continue;
      stream.owned[bit] = true;
      stream.moving[bit] = false;
    }
    std::erase_if(stream.coded,
                  [&](const CodedSpan& coded) { return coded.span.overlaps(place.span); });
  }
}

struct Answer {
  const ChannelSeries* channel;
  CurveFinding finding;
};

// The line nearest to the table, with the slopes that occur in it and the offsets between which a
// line of that slope holds every point.
void set_nearest_line(Proposal& p, const LineFit& line) {
  p.scale = p.scale_fitted = line.slope;
  p.offset = p.offset_fitted = line.intercept;
  p.scale_interval = {INFINITY, -INFINITY};
  p.offset_interval = {INFINITY, -INFINITY};
  for (std::size_t i = 0; i < p.table.size(); ++i) {
    const double offset = p.table[i].value - line.slope * p.table[i].raw;
    p.offset_interval.low = std::min(p.offset_interval.low, offset);
    p.offset_interval.high = std::max(p.offset_interval.high, offset);
    if (i == 0) continue;
    const double slope =
        (p.table[i].value - p.table[i - 1].value) / (p.table[i].raw - p.table[i - 1].raw);
    p.scale_interval.low = std::min(p.scale_interval.low, slope);
    p.scale_interval.high = std::max(p.scale_interval.high, slope);
  }
}

LineFit line_through(const std::vector<CurvePoint>& table) {
  std::vector<double> raw;
  std::vector<double> value;
  for (const CurvePoint& point : table) {
    raw.push_back(point.raw);
    value.push_back(point.value);
  }
  return fit_line(raw, value);
}

Proposal proposal_of(std::span<const MessageSeries> messages, const Stream& stream,
                     const Answer& answer, std::vector<std::string> twins, double chance) {
  const CurveFinding& found = answer.finding;
  const Candidate& c = found.candidate;
  Proposal p;
  p.channel = answer.channel->channel.name;
  p.unit = answer.channel->channel.unit;
  p.place = stream.place(c.field.span);
  p.reserved = reserved_codes(messages[stream.message], p.place, c.field.coding);
  set_field(p, c);
  if (found.straight) {
    set_line(p, *found.straight);
  } else {
    p.table = curve_table(stream, found);
    set_nearest_line(p, line_through(p.table));
    p.residual_rms = found.residual_rms;
  }
  p.levels = found.levels;
  p.chance = chance;
  p.ambiguous_with = std::move(twins);
  if (!p.ambiguous_with.empty()) {
    p.verdict = Verdict::ambiguous;
    p.note = "moved together with other channels";
  } else if (at_limit_of_lag(c.lag)) {
    p.note = lag_at_limit_note;
  } else if (found.plateaus_off > 0) {
    p.note = std::to_string(found.plateaus_off) + " of its plateaus lie off the line: set " +
             (found.plateaus_off == 1 ? "that level" : "those levels") + " again";
  } else if (chance <= strong_chance && p.levels >= strong_levels) {
    p.verdict = Verdict::strong;
    if (found.straight) p.note = "stops at an end of its measuring range: the line holds inside it";
  } else {
    p.note = chance <= strong_chance ? "too few levels for a curve to be sure of"
                                     : "chance could have done as well";
  }
  return p;
}

}  // namespace

std::vector<Proposal> answer_curves(std::span<const MessageSeries> messages,
                                    std::vector<Stream> streams,
                                    std::span<const ChannelSeries> channels,
                                    std::span<const Proposal> proposals, std::int64_t end_ns,
                                    std::uint64_t seed) {
  for (const Proposal& p : proposals) {
    own_bits(streams, p.place);
    for (const FieldPlace& copy : p.same_as) own_bits(streams, copy);
  }
  std::vector<const ChannelSeries*> open;
  for (const ChannelSeries& channel : channels) {
    const bool answered = std::any_of(proposals.begin(), proposals.end(), [&](const Proposal& p) {
      return p.channel == channel.channel.name;
    });
    if (!answered && !channel.channel.is_state()) open.push_back(&channel);
  }
  std::vector<std::optional<CurveFinding>> found(open.size());
  in_parallel(open.size(),
              [&](std::size_t i) { found[i] = search_curve(streams, *open[i], end_ns); });
  std::vector<Answer> answers;
  for (std::size_t i = 0; i < open.size(); ++i) {
    if (found[i]) answers.push_back({open[i], std::move(*found[i])});
  }
  std::stable_sort(answers.begin(), answers.end(), [](const Answer& a, const Answer& b) {
    return a.finding.candidate.field.r2 > b.finding.candidate.field.r2;
  });

  std::vector<Proposal> out;
  for (const Answer& answer : answers) {
    const Stream& stream = streams[answer.finding.candidate.stream];
    std::vector<std::string> twins;
    for (const ChannelSeries& other : channels) {
      if (&other == answer.channel || other.channel.is_state()) continue;
      if (moved_together(answer.finding.rows.rows, other)) twins.push_back(other.channel.name);
    }
    const FieldPlace place = stream.place(answer.finding.candidate.field.span);
    const bool taken = std::any_of(out.begin(), out.end(), [&](const Proposal& p) {
      return share_bits(p.place, place) &&
             std::find(twins.begin(), twins.end(), p.channel) == twins.end();
    });
    if (taken) continue;
    if (answer.finding.candidate.field.span.width() < least_width) continue;
    // Along a curve a drift follows levels that went one way even better than along a line.
    if (went_one_way(answer.finding.rows.rows)) continue;
    const double chance = chance_of_curve(streams, answer.finding.rows, answer.finding.r2, seed);
    if (chance > believable_chance) continue;
    out.push_back(proposal_of(messages, stream, answer, std::move(twins), chance));
  }
  return out;
}

}  // namespace foundling
