#include <algorithm>
#include <map>

#include "decoder/against/blocks.h"
#include "decoder/against/counting.h"
#include "decoder/against/judgements.h"
#include "decoder/against/slices.h"

namespace foundling::held {
namespace {

double chance_of(const MessagePair& pair) {
  return chance_of_order(block_count(pair.a.series->size()), block_count(pair.b.series->size()));
}

// One number under two names: a survey names the bits that moved, and in a longer recording more of
// them move.
bool same_field(const Span& x, const Span& y) {
  return x.lsb == y.lsb && (x.width() < 8 || y.width() < 8 || x.order() == y.order() ||
                            x.order() == ByteOrder::single || y.order() == ByteOrder::single);
}

Has has_selector(const Span& span) {
  return [span](const MessageSurvey& m) {
    return std::any_of(m.selectors.begin(), m.selectors.end(),
                       [&](const SelectorFinding& s) { return same_field(s.span, span); });
  };
}

const SelectorFinding* selector_of(const MessageSurvey& m) {
  return m.selectors.empty() ? nullptr : &m.selectors.front();
}

std::string pages_text(const SelectorFinding* s) {
  return s == nullptr ? ""
                      : to_string(s->span) + ", " + std::to_string(s->values.size()) + " pages";
}

// For each page the blocks of frames in which it came.
std::map<std::uint64_t, std::size_t> blocks_with_page(const MessageSeries& series,
                                                      const Span& selector) {
  std::map<std::uint64_t, std::size_t> found;
  for (std::size_t i = 0; i < block_count(series.size()); ++i) {
    const auto [from, to] = block_of(series.size(), i);
    std::map<std::uint64_t, bool> here;
    for (std::size_t row = from; row < to; ++row) {
      const std::size_t length = series.lengths.empty() ? series.length : series.lengths[row];
      if (static_cast<std::size_t>(selector.last_byte()) >= length) continue;
      here[extract(selector, series.row(row))] = true;
    }
    for (const auto& [value, came] : here) ++found[value];
  }
  return found;
}

// Pages follow one another here all the time, and there one alone came.
bool stands_still(const MessageSeries& here, const MessageSeries& there, const Span& selector) {
  std::size_t pages_by_block = 0;
  for (const auto& [value, blocks] : blocks_with_page(here, selector)) pages_by_block += blocks;
  return pages_by_block >= 2 * block_count(here.size()) &&
         blocks_with_page(there, selector).size() < 2;
}

void say_selector(const MessagePair& pair, Side side, const Span& span, Form& form,
                  Judged& judged) {
  Difference difference = pair.difference(DifferenceKind::selector);
  difference.side = side;
  difference.span = span;
  (side == Side::a ? difference.a_form : difference.b_form) =
      pages_text(selector_of(side == Side::a ? *pair.a.survey : *pair.b.survey));
  difference.chance = chance_of(pair);
  judged.differences.push_back(difference);
  form.values = false;
}

void judge_selector(const MessagePair& pair, Form& form, Judged& judged) {
  const SelectorFinding* a = selector_of(*pair.a.survey);
  const SelectorFinding* b = selector_of(*pair.b.survey);
  if (a == nullptr && b == nullptr) return;
  ++judged.comparisons;
  if (a != nullptr && b != nullptr && same_field(a->span, b->span)) {
    form.selector = a->span.width() >= b->span.width() ? a->span : b->span;
    return;
  }
  const MessageSeries& in_a = *pair.a.series;
  const MessageSeries& in_b = *pair.b.series;
  if (a != nullptr && stands_still(in_a, in_b, a->span)) {
    return say_selector(pair, Side::a, a->span, form, judged);
  }
  if (b != nullptr && stands_still(in_b, in_a, b->span)) {
    return say_selector(pair, Side::b, b->span, form, judged);
  }
  for (const SelectorFinding* s : {a, b}) {
    if (s == nullptr || !holds_joined(in_a, in_b, has_selector(s->span))) continue;
    form.selector = s->span;
    return;
  }
  if (a != nullptr && truly_missing(in_a, in_b, has_selector(a->span))) {
    return say_selector(pair, Side::a, a->span, form, judged);
  }
  if (b != nullptr && truly_missing(in_b, in_a, has_selector(b->span))) {
    say_selector(pair, Side::b, b->span, form, judged);
  }
}

void judge_pages(const MessagePair& pair, const Span& selector, Judged& judged) {
  const auto pages_a = blocks_with_page(*pair.a.series, selector);
  const auto pages_b = blocks_with_page(*pair.b.series, selector);
  const std::size_t ka = block_count(pair.a.series->size());
  const std::size_t kb = block_count(pair.b.series->size());
  const auto look = [&](const auto& here, const auto& there, Side side) {
    for (const auto& [value, blocks] : here) {
      ++judged.comparisons;
      if (there.contains(value)) continue;
      Difference difference = pair.difference(DifferenceKind::page);
      difference.side = side;
      difference.page = PagePlace{selector, value};
      difference.chance = chance_all_in_one(blocks, ka, kb);
      judged.differences.push_back(difference);
    }
  };
  look(pages_a, pages_b, Side::a);
  look(pages_b, pages_a, Side::b);
}

bool same_checksum(const ChecksumFinding& x, const ChecksumFinding& y) {
  return x.span == y.span && x.kind == y.kind && x.polynomial == y.polynomial &&
         x.initial == y.initial && x.final_xor == y.final_xor && x.reflected == y.reflected &&
         x.first_byte == y.first_byte && x.last_byte == y.last_byte &&
         x.includes_identifier == y.includes_identifier;
}

// As `same_checksum`, where other numbers may say the same. In a sum that is always the same, any
// of its bytes can be called the checksum.
bool same_formula(const ChecksumFinding& x, const ChecksumFinding& y) {
  const bool any_place = x.kind.starts_with("sum") || x.kind.starts_with("xor");
  return x.kind == y.kind && x.polynomial == y.polynomial && x.reflected == y.reflected &&
         x.note == y.note && (any_place || x.span.overlaps(y.span));
}

std::string checksum_text(const MessageSurvey& m, const Span& span) {
  for (const ChecksumFinding& c : m.checksums) {
    if (!c.span.overlaps(span)) continue;
    if (!c.name.empty()) return c.name;
    return c.polynomial.empty() ? c.kind : c.kind + " polynomial " + c.polynomial;
  }
  return "";
}

void judge_checksums(const MessagePair& pair, Judged& judged) {
  const auto look = [&](const OneSide& here, const OneSide& there, Side side) {
    for (const ChecksumFinding& c : here.survey->checksums) {
      ++judged.comparisons;
      const auto& others = there.survey->checksums;
      if (std::any_of(others.begin(), others.end(),
                      [&](const ChecksumFinding& o) { return same_checksum(o, c); })) {
        continue;
      }
      const bool named = std::any_of(
          judged.differences.begin(), judged.differences.end(), [&](const Difference& d) {
            return d.kind == DifferenceKind::checksum && d.id == pair.id && d.bus == pair.bus &&
                   d.span->overlaps(c.span);
          });
      const bool joined = holds_joined(*here.series, *there.series, [&](const MessageSurvey& m) {
        return std::any_of(m.checksums.begin(), m.checksums.end(),
                           [&](const ChecksumFinding& o) { return same_formula(o, c); });
      });
      if (named || joined || !truly_missing(*here.series, *there.series, [&](const auto& m) {
            return std::any_of(m.checksums.begin(), m.checksums.end(),
                               [&](const ChecksumFinding& o) { return same_checksum(o, c); });
          })) {
        continue;
      }
      Difference difference = pair.difference(DifferenceKind::checksum);
      difference.side = side;
      difference.span = c.span;
      difference.a_form = checksum_text(*pair.a.survey, c.span);
      difference.b_form = checksum_text(*pair.b.survey, c.span);
      difference.chance = chance_of(pair);
      judged.differences.push_back(difference);
    }
  };
  look(pair.a, pair.b, Side::a);
  look(pair.b, pair.a, Side::b);
}

void judge_transport(const MessagePair& pair, Judged& judged) {
  const bool a = pair.a.survey->segmented_transport;
  const bool b = pair.b.survey->segmented_transport;
  ++judged.comparisons;
  if (a == b) return;
  const auto& here = a ? *pair.a.series : *pair.b.series;
  const auto& there = a ? *pair.b.series : *pair.a.series;
  if (!truly_missing(here, there, [](const MessageSurvey& m) { return m.segmented_transport; })) {
    return;
  }
  Difference difference = pair.difference(DifferenceKind::transport);
  difference.side = a ? Side::a : Side::b;
  difference.chance = chance_of(pair);
  judged.differences.push_back(difference);
}

void own(const MessageSurvey& m, BitSet& owned) {
  for (const SelectorFinding& s : m.selectors) add_span(owned, s.span);
  for (const CounterFinding& c : m.counters) add_span(owned, with_bits_above(c.span));
  for (const ChecksumFinding& c : m.checksums) add_span(owned, c.span);
}

}  // namespace

Form judge_form(const MessagePair& pair, Judged& judged) {
  Form form;
  judge_transport(pair, judged);
  if (pair.a.survey->segmented_transport || pair.b.survey->segmented_transport) {
    form.values = false;
    return form;
  }
  judge_selector(pair, form, judged);
  if (form.selector) judge_pages(pair, *form.selector, judged);
  judge_counters(pair, form.selector, judged);
  judge_checksums(pair, judged);
  own(*pair.a.survey, form.owned);
  own(*pair.b.survey, form.owned);
  if (form.selector) add_span(form.owned, *form.selector);
  return form;
}

}  // namespace foundling::held
