#include "decoder/analysis/claims.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "decoder/analysis/line_fit.h"

namespace foundling {
namespace {

// The value a channel had at the middle of each row of another; NaN before its first reading.
std::vector<double> values_at(const ChannelSeries& channel, const RowSet& set) {
  std::vector<std::int64_t> times;
  for (const Row& row : set.rows) times.push_back(row.from_ns + (row.to_ns - row.from_ns) / 2);
  return lagged(channel, Lag{}, times);
}

// Squared correlation of two lists where both are known, and 0 when less than four fifths are.
double r2_of(std::span<const double> a, std::span<const double> b) {
  std::vector<double> x;
  std::vector<double> y;
  std::size_t known = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (std::isfinite(b[i])) ++known;
    if (!std::isfinite(a[i]) || !std::isfinite(b[i])) continue;
    x.push_back(a[i]);
    y.push_back(b[i]);
  }
  if (x.size() < 4 || known * 5 < a.size() * 4) return 0;
  const double r2 = fit_line(x, y).r2;
  return std::isfinite(r2) ? r2 : 0;
}

std::vector<double> xs_of(const RowSet& set) {
  std::vector<double> xs;
  for (const Row& row : set.rows) xs.push_back(row.x);
  return xs;
}

// Another channel explains the field as well as its own does: both moved together.
bool explains_as_well(const Stream& stream, const Claim& claim, const Candidate& candidate,
                      const ChannelSeries& other) {
  if (!moved_together(claim.search.rows, other)) return false;
  const std::vector<double> theirs = values_at(other, claim.search.rows);
  const auto raw = raw_row_means(stream, claim.search.rows, claim.search.delay_ns,
                                 candidate.field.span, candidate.field.coding);
  const double own = r2_of(raw, xs_of(claim.search.rows));
  const double other_r2 = r2_of(raw, theirs);
  // A difference of half a percent of the spread is within what instruments disagree by.
  return 1 - other_r2 <= 4 * (1 - own) + 3e-5;
}

}  // namespace

bool moved_together(const RowSet& rows, const ChannelSeries& other) {
  return r2_of(xs_of(rows), values_at(other, rows)) >= 0.95;
}

bool share_bits(const FieldPlace& a, const FieldPlace& b) {
  if (a.bus != b.bus || !(a.id == b.id)) return false;
  if (a.page && b.page && !(*a.page == *b.page)) return false;
  return a.span.overlaps(b.span);
}

bool follows(const Candidate& c, ChannelKind kind) {
  // A sampled channel is read at other moments than the board reads it, so its errors are larger;
  // what must not be is a residual that wanders slowly, as two unrelated trends leave it. Hardly
  // any residual at all may do so: a sluggish board's is what its low-pass leaves.
  if (kind == ChannelKind::sample) {
    return c.field.r2 >= 0.9 && (c.coherence > 0.3 || c.field.r2 >= 0.999);
  }
  return c.field.r2 >= 0.98 && c.calibration.misfit < 30;
}

void settle_claims(std::span<const Stream> streams, std::vector<Claim>& claims,
                   std::span<const FieldPlace> taken) {
  std::vector<std::size_t> order(claims.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  const auto doubt = [&](std::size_t i) {
    const auto& candidates = claims[i].search.candidates;
    const double derived = claims[i].derived ? 1 : 0;  // what was measured comes first
    return candidates.empty() ? 2.0 : derived + 1 - candidates.front().field.r2;
  };
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return doubt(a) < doubt(b); });
  struct Owner {
    FieldPlace place;
    const Claim* claim;
  };
  std::vector<Owner> owners;
  std::vector<FieldPlace> copies;
  for (const FieldPlace& place : taken) owners.push_back({place, nullptr});
  const auto name_each_other = [&] {
    for (const Claim& a : claims) {
      for (const std::string& name : a.ambiguous_with) {
        for (Claim& b : claims) {
          if (!b.chosen || b.channel->channel.name != name) continue;
          const std::string& own = a.channel->channel.name;
          auto& list = b.ambiguous_with;
          if (std::find(list.begin(), list.end(), own) == list.end()) list.push_back(own);
        }
      }
    }
  };
  for (const std::size_t i : order) {
    Claim& claim = claims[i];
    for (std::size_t k = 0; k < claim.search.candidates.size() && !claim.chosen; ++k) {
      const Candidate& candidate = claim.search.candidates[k];
      if (!follows(candidate, claim.search.rows.kind)) continue;
      const Stream& stream = streams[candidate.stream];
      std::vector<std::string> twins;
      for (const Claim& other : claims) {
        if (&other == &claim || other.derived || claim.derived) continue;
        if (explains_as_well(stream, claim, candidate, *other.channel)) {
          twins.push_back(other.channel->channel.name);
        }
      }
      const FieldPlace place = stream.place(candidate.field.span);
      const bool free = std::none_of(owners.begin(), owners.end(), [&](const Owner& o) {
        if (!share_bits(o.place, place)) return false;
        const bool twin =
            o.claim != nullptr &&
            std::find(twins.begin(), twins.end(), o.claim->channel->channel.name) != twins.end();
        return !twin;
      });
      const bool copied =
          claim.derived && std::any_of(copies.begin(), copies.end(),
                                       [&](const FieldPlace& c) { return share_bits(c, place); });
      if (!free || copied) continue;
      claim.chosen = k;
      claim.ambiguous_with = std::move(twins);
      owners.push_back({place, &claim});
      // Other fields that carry the same measured channel are not a derived one's.
      for (const Candidate& copy : claim.search.candidates) {
        if (!claim.derived && follows(copy, claim.search.rows.kind)) {
          copies.push_back(streams[copy.stream].place(copy.field.span));
        }
      }
    }
  }
  name_each_other();
}

}  // namespace foundling
