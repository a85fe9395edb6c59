#include <algorithm>
#include <cmath>

#include "decoder/against/blocks.h"
#include "decoder/against/counting.h"

namespace foundling::held {
namespace {

std::string form_of(const CounterFinding& c) {
  std::string text = "modulo " + std::to_string(c.modulus);
  if (c.step != 1) text += ", step " + std::to_string(c.step);
  return text;
}

// For each frame after the first, whether the counter went on as it should; with `drops` only where
// its value fell: where it wraps. In the pages' own order where `selector` is given.
std::vector<double> kept(const MessageSeries& series, const CounterFinding& c,
                         const std::optional<Span>& selector, bool drops) {
  std::vector<double> result;
  std::vector<std::pair<std::uint64_t, std::uint64_t>> last;  // page, code
  for (std::size_t i = 0; i < series.size(); ++i) {
    const auto row = series.row(i);
    if (static_cast<std::size_t>(c.span.last_byte()) >= row.size()) return {};
    const std::uint64_t code = extract(c.span, row);
    const std::uint64_t page = selector ? extract(*selector, row) : 0;
    const auto before = std::find_if(last.begin(), last.end(),
                                     [page](const auto& entry) { return entry.first == page; });
    if (before == last.end()) {
      last.emplace_back(page, code);
      continue;
    }
    const auto modulus = static_cast<std::int64_t>(c.modulus);
    const std::int64_t step = ((c.step % modulus) + modulus) % modulus;
    const auto due = (before->second + static_cast<std::uint64_t>(step)) % c.modulus;
    if (!drops || code < before->second) result.push_back(code == due ? 1 : 0);
    before->second = code;
  }
  return result;
}

double least_of(const std::vector<double>& v) { return *std::min_element(v.begin(), v.end()); }
double most_of(const std::vector<double>& v) { return *std::max_element(v.begin(), v.end()); }

std::vector<double> shares(const std::vector<double>& kept_or_not) {
  std::vector<double> result;
  for (std::size_t i = 0; i < block_count(kept_or_not.size()); ++i) {
    const auto [from, to] = block_of(kept_or_not.size(), i);
    double sum = 0;
    for (std::size_t j = from; j < to; ++j) sum += kept_or_not[j];
    result.push_back(sum / static_cast<double>(to - from));
  }
  return result;
}

// The order in which the counter counts: that of the frames, or that of each page. Nothing:
// neither.
std::optional<std::optional<Span>> order_of(const MessageSeries& series, const CounterFinding& c,
                                            const std::optional<Span>& selector) {
  for (const auto& order : {std::optional<Span>(), selector}) {
    const auto share = shares(kept(series, c, order, false));
    if (!share.empty() && least_of(share) >= 0.8) return order;
  }
  return std::nullopt;
}

// Every block here keeps the count, none there does. The chance of that order, or 1.
double chance_missing(const MessageSeries& here, const MessageSeries& there,
                      const CounterFinding& c, const std::optional<Span>& order, bool drops) {
  const auto shares_here = shares(kept(here, c, order, drops));
  const auto shares_there = shares(kept(there, c, order, drops));
  if (shares_here.empty() || shares_there.empty()) return 1;
  if (least_of(shares_here) < 0.8 || most_of(shares_there) > (drops ? 0.2 : 0.5)) return 1;
  return chance_of_order(shares_here.size(), shares_there.size());
}

std::string form_at(const MessageSurvey& m, const Span& span) {
  for (const CounterFinding& c : m.counters) {
    if (c.span.overlaps(span)) return form_of(c);
  }
  return "";
}

bool named(const Judged& judged, const MessagePair& pair, const Span& span) {
  return std::any_of(judged.differences.begin(), judged.differences.end(),
                     [&](const Difference& d) {
                       return d.kind == DifferenceKind::counter && d.id == pair.id &&
                              d.bus == pair.bus && d.span->overlaps(span);
                     });
}

}  // namespace

Span with_bits_above(const Span& span) {
  if (span.width() < 9 || span.width() >= 32) return span;  // short ones wrap, and show all bits
  Span wide = span;
  while (wide.width() < 32) {
    const bool big = span.order() == ByteOrder::big;
    BitPosition next = wide.msb;
    if (next.bit < 7) {
      ++next.bit;
    } else if (big ? next.byte == 0 : next.byte == 63) {
      break;
    } else {
      next = {static_cast<std::uint8_t>(big ? next.byte - 1 : next.byte + 1), 0};
    }
    wide.msb = next;
  }
  return wide;
}

void judge_counters(const MessagePair& pair, const std::optional<Span>& selector, Judged& judged) {
  const auto look = [&](const OneSide& here, const OneSide& there, Side side) {
    for (const CounterFinding& c : here.survey->counters) {
      judged.comparisons += 2;
      if (named(judged, pair, c.span)) continue;
      const auto order = order_of(*here.series, c, selector);
      if (!order) continue;
      const double chance = std::min(chance_missing(*here.series, *there.series, c, *order, false),
                                     chance_missing(*here.series, *there.series, c, *order, true));
      if (chance >= 1) continue;
      Difference difference = pair.difference(DifferenceKind::counter);
      difference.side = side;
      difference.span = c.span;
      difference.a_form = form_at(*pair.a.survey, c.span);
      difference.b_form = form_at(*pair.b.survey, c.span);
      difference.chance = chance;
      judged.differences.push_back(difference);
    }
  };
  look(pair.a, pair.b, Side::a);
  look(pair.b, pair.a, Side::b);
}

}  // namespace foundling::held
