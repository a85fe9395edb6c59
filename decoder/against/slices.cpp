#include "decoder/against/slices.h"

#include <algorithm>

namespace foundling::held {
namespace {

constexpr std::size_t most_rows = 8192;  // of one cut: more tell no more about a formula
constexpr std::size_t least_rows = 24;   // of a half: fewer tell the survey too little

MessageSeries empty_like(const MessageSeries& series, std::uint8_t length, bool with_lengths) {
  MessageSeries result;
  result.bus = series.bus;
  result.id = series.id;
  result.length = length;
  if (with_lengths) result.lengths.reserve(series.size());
  return result;
}

void append(MessageSeries& to, const MessageSeries& from, std::size_t first, std::size_t last,
            bool with_lengths, std::int64_t shift_ns) {
  for (std::size_t i = first; i < last; ++i) {
    const auto row = from.row(i);
    to.t_ns.push_back(from.t_ns[i] + shift_ns);
    to.bytes.insert(to.bytes.end(), row.begin(), row.end());
    to.bytes.resize(to.t_ns.size() * to.length, 0);
    if (with_lengths) to.lengths.push_back(from.lengths.empty() ? from.length : from.lengths[i]);
  }
}

MessageSurvey survey_part(const MessageSeries& series, std::size_t first, std::size_t last) {
  const bool with_lengths = !series.lengths.empty();
  MessageSeries part = empty_like(series, series.length, with_lengths);
  append(part, series, first, std::min(last, first + most_rows), with_lengths, 0);
  return survey_message(part);
}

MessageSurvey survey_joined(const MessageSeries& a, const MessageSeries& b) {
  const std::size_t n = std::min({a.size(), b.size(), most_rows});
  const std::uint8_t length = std::max(a.length, b.length);
  const bool with_lengths = !a.lengths.empty() || !b.lengths.empty() || a.length != b.length;
  MessageSeries joined = empty_like(a, length, with_lengths);
  append(joined, a, a.size() - n, a.size(), with_lengths, 0);
  const std::int64_t usual =
      n > 1 ? (joined.t_ns.back() - joined.t_ns.front()) / static_cast<std::int64_t>(n - 1) : 0;
  append(joined, b, 0, n, with_lengths, joined.t_ns.back() + usual - b.t_ns.front());
  return survey_message(joined);
}

}  // namespace

bool holds_joined(const MessageSeries& a, const MessageSeries& b, const Has& has) {
  return has(survey_joined(a, b));
}

bool truly_missing(const MessageSeries& here, const MessageSeries& there, const Has& has) {
  if (std::min(here.size(), there.size()) < 2 * least_rows) return false;
  if (holds_joined(here, there, has)) return false;
  for (const bool second : {false, true}) {
    const auto half = [second](const MessageSeries& series) {
      const std::size_t middle = series.size() / 2;
      return second ? survey_part(series, middle, series.size()) : survey_part(series, 0, middle);
    };
    if (!has(half(here)) || has(half(there))) return false;
  }
  return true;
}

}  // namespace foundling::held
