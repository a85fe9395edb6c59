#include "decoder/against/steady_counts.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <optional>

#include "decoder/against/blocks.h"
#include "decoder/against/counting.h"
#include "decoder/against/fields.h"

namespace foundling::held {
namespace {

constexpr std::size_t most_breaks = 8;  // of one count in a recording

struct Piece {
  std::size_t from_row = 0;
  Line line;
};

struct Rows {
  std::vector<std::int64_t> t_ns;
  std::vector<std::uint64_t> codes;
};

Rows rows_of(const MessageSeries& series, const std::vector<std::size_t>& rows, const Span& span) {
  Rows result;
  result.codes = codes_of(series, rows, span);
  if (result.codes.size() == rows.size()) result.t_ns = series.t_ns;
  return result;
}

// The lines between the places where the count fell; nothing if it is no steady count.
std::optional<std::vector<Piece>> pieces_of(const Rows& rows) {
  if (rows.t_ns.empty()) return std::nullopt;
  std::vector<std::size_t> starts{0};
  for (std::size_t i = 1; i < rows.codes.size(); ++i) {
    if (rows.codes[i] < rows.codes[i - 1]) starts.push_back(i);
  }
  if (starts.size() > most_breaks + 1) return std::nullopt;
  starts.push_back(rows.codes.size());
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i + 1 < starts.size(); ++i) {
    const std::size_t n = starts[i + 1] - starts[i];
    const auto line = steady_line(std::span(rows.t_ns).subspan(starts[i], n),
                                  std::span(rows.codes).subspan(starts[i], n));
    if (!line) return std::nullopt;
    pieces.push_back({starts[i], *line});
  }
  return pieces;
}

// A count that wraps begins anew from its highest code; one that was reset from anywhere.
bool wrapped(const Line& before, const Line& after, double period_s) {
  const double bits = std::ceil(std::log2(before.last + 1));
  return before.last + 3 * before.per_second * period_s >= std::exp2(bits) &&
         after.first <= 3 * before.per_second * period_s;
}

void note_breaks(const OneSide& side, Side which, const Rows& rows,
                 const std::vector<Piece>& pieces, Judged& judged) {
  for (std::size_t i = 1; i < pieces.size(); ++i) {
    const Line& before = pieces[i - 1].line;
    const Line& after = pieces[i].line;
    if (wrapped(before, after, side.survey->period_s)) continue;
    const double luck = (after.first + 1) / (before.last + 1);
    judged.breaks.push_back(
        {which, side.series->bus, side.second(rows.t_ns[pieces[i].from_row]), luck});
  }
}

struct Counted {
  const OneSide* side;
  const Rows* rows;
  const std::vector<Piece>* pieces;
  [[nodiscard]] double first() const { return pieces->front().line.first; }
  [[nodiscard]] double last() const { return pieces->back().line.last; }
};

// A count that was lower in the later recording began anew between them. Where nobody knows which
// is the later one, both must have been at one value: one that is lower throughout may be the
// older.
void judge_between(const MessagePair& pair, const Span& span, const Counted& a, const Counted& b,
                   Judged& judged) {
  ++judged.comparisons;
  const bool b_is_older = pair.older == Older::b;
  const Counted& before = b_is_older ? b : a;
  const Counted& after = b_is_older ? a : b;
  const auto lower = [](const Counted& x, const Counted& y) {
    return x.first() < y.last() - std::max(2.0, 0.1 * std::abs(y.last() - y.first()));
  };
  if (!lower(after, before)) return;
  if (pair.older == Older::unknown && !lower(before, after)) return;
  Difference difference = pair.difference(DifferenceKind::restarted);
  difference.side = b_is_older ? Side::a : Side::b;
  difference.span = span;
  difference.a = b_is_older ? a.first() : a.last();
  difference.b = b_is_older ? b.last() : b.first();
  const double begun = after.first() / after.pieces->front().line.per_second;
  difference.from_s = begun - after.side->second(after.rows->t_ns.front());
  difference.chance =
      chance_of_order(block_count(a.rows->codes.size()), block_count(b.rows->codes.size()));
  judged.differences.push_back(difference);
}

// Whole bytes, the widest first: an uptime that goes up by more than one a frame does not show its
// bits' order by their carries.
void add_whole_bytes(std::size_t length, const BitSet& owned, std::vector<Span>& spans) {
  for (std::size_t width = 4; width >= 2; --width) {
    for (std::size_t first = 0; first + width <= length; ++first) {
      const auto low = static_cast<std::uint8_t>(first);
      const auto high = static_cast<std::uint8_t>(first + width - 1);
      for (const Span& span : {Span{{low, 7}, {high, 0}}, Span{{high, 7}, {low, 0}}}) {
        BitSet bits;
        add_span(bits, span);
        if ((bits & owned).none()) spans.push_back(span);
      }
    }
  }
}

std::vector<Span> candidates(const MessagePair& pair, const Stream& all, const BitSet& owned) {
  std::vector<Span> spans;
  for (const OneSide* side : {&pair.a, &pair.b}) {
    for (const CounterFinding& c : side->survey->counters) {
      if (c.span.width() >= 9) spans.push_back(with_bits_above(c.span));
    }
  }
  add_whole_bytes(std::min(pair.a.series->length, pair.b.series->length), owned, spans);
  for (const Span& span : changing_fields(pair, all, owned)) spans.push_back(with_bits_above(span));
  return spans;
}

// Without the top bits that are the same throughout: they are another field's.
Span without_still_top(const Span& span, const Rows& a, const Rows& b) {
  std::uint64_t moved = 0;
  for (const Rows* rows : {&a, &b}) {
    for (const std::uint64_t code : rows->codes) moved |= code ^ a.codes.front();
  }
  const int width = std::max(1, static_cast<int>(std::bit_width(moved)));
  return {span.position(std::min(width, span.width()) - 1), span.lsb};
}

}  // namespace

void judge_steady_counts(const MessagePair& pair, BitSet& owned, Judged& judged) {
  const std::vector<Stream> streams = streams_of(pair, {});
  const Stream& all = streams.front();
  BitSet counted;
  for (const Span& wide : candidates(pair, all, owned)) {
    BitSet bits;
    add_span(bits, wide);
    if ((bits & counted).any()) continue;
    Rows rows_a = rows_of(*pair.a.series, all.rows_a, wide);
    Rows rows_b = rows_of(*pair.b.series, all.rows_b, wide);
    if (rows_a.codes.empty() || rows_b.codes.empty()) continue;
    const Span span = without_still_top(wide, rows_a, rows_b);
    rows_a = rows_of(*pair.a.series, all.rows_a, span);
    rows_b = rows_of(*pair.b.series, all.rows_b, span);
    const auto a = pieces_of(rows_a);
    const auto b = pieces_of(rows_b);
    if (!a || !b) continue;
    add_span(counted, span);
    note_breaks(pair.a, Side::a, rows_a, *a, judged);
    note_breaks(pair.b, Side::b, rows_b, *b, judged);
    judge_between(pair, span, {&pair.a, &rows_a, &*a}, {&pair.b, &rows_b, &*b}, judged);
  }
  owned |= counted;
}

}  // namespace foundling::held
