#include "decoder/against/pairing.h"

#include <algorithm>
#include <map>
#include <numeric>
#include <tuple>

#include "schemas/values/payload_id.h"

namespace foundling::held {
namespace {

using Key = std::tuple<std::uint8_t, bool, std::uint32_t>;

Window window_of(std::span<const MessageSeries> messages) {
  Window window;
  bool any = false;
  for (const MessageSeries& m : messages) {
    if (m.size() == 0) continue;
    window.from_ns = any ? std::min(window.from_ns, m.t_ns.front()) : m.t_ns.front();
    window.to_ns = any ? std::max(window.to_ns, m.t_ns.back()) : m.t_ns.back();
    any = true;
  }
  return window;
}

void put(std::map<Key, MessagePair>& pairs, const Recorded& recorded, OneSide MessagePair::*side) {
  const Window window = window_of(recorded.messages);
  for (const MessageSeries& series : recorded.messages) {
    if (series.size() == 0 || is_payload(series.id)) continue;  // its frames are compared
    MessagePair& pair = pairs[Key(series.bus, series.id.is_extended(), series.id.number())];
    pair.bus = series.bus;
    pair.id = series.id;
    (pair.*side).series = &series;
  }
  for (const MessageSurvey& found : recorded.survey->messages) {
    if (is_payload(found.id)) continue;
    const auto it = pairs.find(Key(found.bus, found.id.is_extended(), found.id.number()));
    if (it != pairs.end()) (it->second.*side).survey = &found;
  }
  for (const FdMessage& fd : recorded.fd_messages) {
    const auto it = pairs.find(Key(fd.bus, fd.id.is_extended(), fd.id.number()));
    if (it != pairs.end()) (it->second.*side).fd_frames = fd.frames;
  }
  for (auto& [key, pair] : pairs) (pair.*side).window = window;
}

std::size_t length_of(const MessageSeries& series, std::size_t row) {
  return series.lengths.empty() ? series.length : series.lengths[row];
}

using Pages = std::map<std::uint64_t, std::vector<std::size_t>>;

Pages pages_of(const MessageSeries& series, const Span& selector) {
  Pages pages;
  for (std::size_t i = 0; i < series.size(); ++i) {
    if (static_cast<std::size_t>(selector.last_byte()) >= length_of(series, i)) continue;
    pages[extract(selector, series.row(i))].push_back(i);
  }
  return pages;
}

}  // namespace

void add_span(BitSet& bits, const Span& span) {
  for (int i = 0; i < span.width(); ++i) bits.set(bit_number(span.position(i)));
}

Difference MessagePair::difference(DifferenceKind kind) const {
  Difference difference;
  difference.kind = kind;
  difference.bus = bus;
  difference.id = id;
  return difference;
}

std::vector<MessagePair> pair_up(const Recorded& a, const Recorded& b) {
  std::map<Key, MessagePair> pairs;
  put(pairs, a, &MessagePair::a);
  put(pairs, b, &MessagePair::b);
  std::vector<MessagePair> result;
  const bool known = a.started_utc_ns != 0 && b.started_utc_ns != 0;
  for (auto& [key, pair] : pairs) {
    if (known && a.started_utc_ns != b.started_utc_ns) {
      pair.older = a.started_utc_ns < b.started_utc_ns ? Older::a : Older::b;
    }
    pair.a.window = window_of(a.messages);
    result.push_back(pair);
  }
  return result;
}

std::vector<Stream> streams_of(const MessagePair& pair, const std::optional<Span>& selector) {
  std::vector<Stream> streams;
  if (!selector) {
    Stream all{{},
               std::vector<std::size_t>(pair.a.series->size()),
               std::vector<std::size_t>(pair.b.series->size())};
    std::iota(all.rows_a.begin(), all.rows_a.end(), std::size_t{0});
    std::iota(all.rows_b.begin(), all.rows_b.end(), std::size_t{0});
    streams.push_back(std::move(all));
    return streams;
  }
  Pages pages_a = pages_of(*pair.a.series, *selector);
  Pages pages_b = pages_of(*pair.b.series, *selector);
  for (auto& [value, rows] : pages_a) {
    const auto other = pages_b.find(value);
    if (other == pages_b.end()) continue;
    streams.push_back({PagePlace{*selector, value}, std::move(rows), std::move(other->second)});
  }
  return streams;
}

std::vector<std::uint64_t> codes_of(const MessageSeries& series,
                                    const std::vector<std::size_t>& rows, const Span& span) {
  std::vector<std::uint64_t> codes;
  codes.reserve(rows.size());
  for (const std::size_t row : rows) {
    if (static_cast<std::size_t>(span.last_byte()) >= length_of(series, row)) continue;
    codes.push_back(extract(span, series.row(row)));
  }
  return codes;
}

}  // namespace foundling::held
