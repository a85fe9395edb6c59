#include "decoder/analysis/channel_search.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "decoder/analysis/lagged_rows.h"

namespace foundling {
namespace {

constexpr std::size_t most_candidates = 8;
constexpr double promising_r2 = 0.85;   // of a neighbourhood, before it is refined
constexpr double convincing_r2 = 0.97;  // no need to look at other delays

struct Neighbourhood {
  std::size_t stream;
  SpanScore score;
};

// The best spans of all streams at one delay, none overlapping another of its stream and order.
std::vector<Neighbourhood> neighbourhoods(std::span<const Stream> streams, const RowSet& set,
                                          std::int64_t delay_ns) {
  std::vector<Neighbourhood> all;
  for (std::size_t s = 0; s < streams.size(); ++s) {
    Moments m = row_means(streams[s], set, delay_ns);
    if (!covers(m, set) || m.bits.empty()) continue;
    const std::vector<double> x = centred_x(m, set);
    const double x_variance = variance(x);
    if (!(x_variance > 0)) continue;
    const std::vector<double> c = bit_covariances(m, x);
    if (greatest_bit_correlation(m, c, x_variance) < 0.3) continue;
    make_covariance(m);
    for (const SpanScore& score : SpanTable(m).search(c, x_variance, promising_r2)) {
      all.push_back({s, score});
    }
  }
  std::stable_sort(all.begin(), all.end(), [](const Neighbourhood& a, const Neighbourhood& b) {
    return a.score.r2 > b.score.r2;
  });
  std::vector<Neighbourhood> best;
  for (const Neighbourhood& n : all) {
    const bool taken = std::any_of(best.begin(), best.end(), [&](const Neighbourhood& b) {
      return b.stream == n.stream && b.score.span.overlaps(n.score.span) &&
             b.score.span.order() == n.score.span.order();
    });
    if (!taken) best.push_back(n);
    if (best.size() == 2 * most_candidates) break;
  }
  return best;
}

// The better of both byte orders around a neighbourhood.
std::optional<Field> best_order(Refinery& refinery, const SpanScore& start) {
  std::optional<Field> best;
  for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
    if (start.span.order() != ByteOrder::single && start.span.order() != order) continue;
    const auto field = refinery.refine(start, order);
    if (field && (!best || reads_better(*field, *best))) best = field;
  }
  return best;
}

// Fields of other codes have no ends to look for: they read as numbers, and follow x or not.
void add_coded(std::span<const Stream> streams, const RowSet& set, std::int64_t delay_ns,
               std::vector<Candidate>& candidates) {
  for (std::size_t s = 0; s < streams.size(); ++s) {
    for (const CodedSpan& coded : streams[s].coded) {
      Field field{coded.span, coded.coding};
      field.r2 = row_r2(set, raw_row_means(streams[s], set, delay_ns, coded.span, field.coding));
      if (field.r2 < promising_r2) continue;
      if (auto candidate = complete(streams[s], s, set, delay_ns, field)) {
        candidates.push_back(std::move(*candidate));
      }
    }
  }
}

std::vector<Candidate> refine_all(std::span<const Stream> streams, const RowSet& set,
                                  std::int64_t delay_ns, const std::vector<Neighbourhood>& starts) {
  std::vector<Candidate> candidates;
  std::map<std::size_t, Refinery> refineries;
  for (const Neighbourhood& start : starts) {
    const Stream& stream = streams[start.stream];
    Refinery& refinery = refineries.try_emplace(start.stream, stream, set, delay_ns).first->second;
    const auto field = best_order(refinery, start.score);
    if (!field) continue;
    if (auto candidate = complete(stream, start.stream, set, delay_ns, *field)) {
      candidates.push_back(std::move(*candidate));
    }
  }
  add_coded(streams, set, delay_ns, candidates);
  std::vector<Candidate> kept;
  for (Candidate& c : candidates) {
    const auto rival = std::find_if(kept.begin(), kept.end(), [&](const Candidate& k) {
      return k.stream == c.stream && k.field.span.overlaps(c.field.span);
    });
    if (rival == kept.end()) {
      kept.push_back(std::move(c));
      continue;
    }
    if (takes_place(c, *rival)) *rival = std::move(c);
  }
  std::stable_sort(kept.begin(), kept.end(),
                   [](const Candidate& a, const Candidate& b) { return a.score > b.score; });
  if (kept.size() > most_candidates) {
    kept.erase(kept.begin() + static_cast<std::ptrdiff_t>(most_candidates), kept.end());
  }
  return kept;
}

// A complement with or without one more: numbers below zero differ by one, which fine readings
// tell.
void take_ones_complement(const Stream& stream, const ChannelSearch& search, Candidate& c) {
  if (c.field.coding != Coding::twos_complement) return;
  Field turned = c.field;
  turned.coding = Coding::ones_complement;
  turned.r2 = row_r2(
      search.rows, raw_row_means(stream, search.rows, search.delay_ns, turned.span, turned.coding));
  // Rounding leaves a twelfth of a code squared, the wrong one of two complements up to a quarter
  // more.
  if (turned.r2 <= c.field.r2 || 2 * (1 - turned.r2) > 1 - c.field.r2) return;
  auto better = complete(stream, c.stream, search.rows, search.delay_ns, turned);
  if (!better) return;
  better->lag = c.lag;
  c = std::move(*better);
}

}  // namespace

std::optional<Candidate> without_bits(std::span<const Stream> streams, const ChannelSeries& channel,
                                      const Candidate& candidate, const Span& taken,
                                      std::int64_t end_ns) {
  const Span& span = candidate.field.span;
  if (!is_plain(candidate.field.coding)) return {};
  Stream stream = streams[candidate.stream];
  for (int i = 0; i < taken.width(); ++i) {
    const auto bit = static_cast<std::size_t>(bit_index(taken.position(i)));
    if (bit >= stream.owned.size()) return {};
    stream.owned[bit] = true;
    stream.moving[bit] = false;
  }
  // What is left: the longest run of free bits, from the top down.
  int best_low = 0;
  int best_length = 0;
  int length = 0;
  for (int i = span.width() - 1; i >= 0; --i) {
    length = stream.owned[static_cast<std::size_t>(bit_index(span.position(i)))] ? 0 : length + 1;
    if (length > best_length) {
      best_length = length;
      best_low = i;
    }
  }
  if (best_length < 2) return {};
  const BitPosition lsb = span.position(best_low);
  const RowSet rows = lagged_rows(stream, channel, candidate.lag, end_ns);
  const auto delay_ns = static_cast<std::int64_t>(candidate.lag.delay_s * 1e9);
  Refinery refinery(stream, rows, delay_ns);
  Candidate left = candidate;
  std::optional<Field> field;
  for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
    if (span.order() != ByteOrder::single && span.order() != order) continue;
    const auto found = refinery.refine({{lsb, lsb}}, order);
    if (found && (!field || reads_better(*found, *field))) field = found;
  }
  if (!field) return {};
  left.field = *field;
  left = with_own_lag(stream, channel, end_ns, left, candidate.lag);
  if (!(left.field.span.lsb == field->span.lsb)) return {};
  return left;
}

ChannelSearch search_channel(std::span<const Stream> streams, const ChannelSeries& channel,
                             std::int64_t end_ns) {
  ChannelSearch search;
  search.rows = make_rows(channel, end_ns);
  if (search.rows.rows.size() < 4 || search.rows.levels < 3) return search;

  std::vector<Neighbourhood> starts;
  std::vector<double> delays_s{0};
  if (channel.channel.kind == ChannelKind::sample) {
    delays_s = {0, 0.5, 1, 1.5, 2, 2.5, 3, 4, 5, -0.5};
  } else {
    delays_s = {0, 1, 2, 3, 4, 5, -0.5};
  }
  double best = 0;
  for (const double delay : delays_s) {
    const auto delay_ns = static_cast<std::int64_t>(delay * 1e9);
    auto found = neighbourhoods(streams, search.rows, delay_ns);
    if (found.empty() || found.front().score.r2 <= best + 1e-6) continue;
    best = found.front().score.r2;
    starts = std::move(found);
    search.delay_ns = delay_ns;
    if (best >= convincing_r2 && channel.channel.kind == ChannelKind::hold) break;
  }

  search.candidates = refine_all(streams, search.rows, search.delay_ns, starts);
  if (search.candidates.empty()) return search;

  // With the lag of the best field known, read the rows again: settled parts only, all of them.
  const Candidate& first = search.candidates.front();
  const Lag lag = fit_lag(streams[first.stream], channel, first.field.span, first.field.coding);
  search.delay_ns = static_cast<std::int64_t>(lag.delay_s * 1e9);
  search.rows = lagged_rows(streams[first.stream], channel, lag, end_ns);
  search.candidates = refine_all(streams, search.rows, search.delay_ns,
                                 neighbourhoods(streams, search.rows, search.delay_ns));
  for (Candidate& c : search.candidates) {
    const Stream& stream = streams[c.stream];
    const Lag own = fit_lag(stream, channel, c.field.span, c.field.coding);
    c = with_own_lag(stream, channel, end_ns, c, own);
    take_ones_complement(stream, search, c);
  }
  std::stable_sort(search.candidates.begin(), search.candidates.end(),
                   [](const Candidate& a, const Candidate& b) { return a.score > b.score; });
  return search;
}

}  // namespace foundling
