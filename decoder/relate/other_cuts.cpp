#include "decoder/relate/other_cuts.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>
#include <tuple>
#include <utility>

#include "decoder/relate/alike.h"
#include "decoder/relate/joined_bits.h"

namespace foundling::relate {
namespace {

constexpr std::size_t most_rows = 6;     // rows of fields that are looked at, the largest first
constexpr std::size_t fewest_alike = 3;  // fields of one width and order that make a row
constexpr double level_share = 0.3;      // beyond the levels of the row: as of alike fields
constexpr double noise_ratio = 6;        // likewise

// What the fields of a row have in common.
struct Row {
  ByteOrder order = ByteOrder::big;
  int width = 0;
  double low = 0, high = 0;     // levels
  double noise = 0;             // the largest
  std::set<std::uint8_t> ends;  // bits of a byte that they end at
};

std::optional<Row> row_of(std::span<const Field> fields, const std::vector<std::size_t>& group) {
  std::map<std::pair<ByteOrder, int>, std::vector<std::size_t>> kinds;
  for (const std::size_t f : group) {
    const Span& span = fields[f].place.span;
    kinds[{span.order(), span.width()}].push_back(f);
  }
  const auto usual =
      std::ranges::max_element(kinds, {}, [](const auto& kind) { return kind.second.size(); });
  if (usual->second.size() < fewest_alike || usual->first.first == ByteOrder::single) return {};
  Row row{usual->first.first, usual->first.second, 1e300, -1e300, 0.3, {}};
  for (const std::size_t f : usual->second) {
    const double slack = level_share * std::abs(fields[f].level) + 2;
    row.low = std::min(row.low, fields[f].level - slack);
    row.high = std::max(row.high, fields[f].level + slack);
    row.noise = std::max(row.noise, fields[f].noise);
    row.ends.insert(fields[f].place.span.lsb.bit);
  }
  return row;
}

// A message on one of its pages, and the fields that were found there.
struct Place {
  std::size_t message = 0;
  std::optional<Page> page;
  std::vector<std::size_t> fields;
};

std::vector<Place> places_of(std::span<const Field> fields) {
  std::map<std::tuple<std::size_t, bool, std::uint64_t>, Place> places;
  for (std::size_t f = 0; f < fields.size(); ++f) {
    const auto& page = fields[f].place.page;
    Place& place = places[{fields[f].message, page.has_value(), page ? page->value : 0}];
    place.message = fields[f].message;
    place.page = page;
    place.fields.push_back(f);
  }
  std::vector<Place> out;
  for (auto& [key, place] : places) out.push_back(std::move(place));
  return out;
}

// From the highest bit that moved, 'not available' left out.
int moved_bits(const MessageSeries& message, const Field& field) {
  const std::uint64_t ones = ~std::uint64_t{0} >> (64 - field.place.span.width());
  std::uint64_t high = 0;
  std::uint64_t low = ones;
  for (const std::uint32_t row : field.rows) {
    const std::uint64_t code = extract(field.place.span, message.row(row));
    if (code == ones) continue;
    high |= code;
    low &= code;
  }
  int bits = 0;
  while ((high & ~low) >> bits != 0) ++bits;
  return bits;
}

// A few codes say already that a place is at another level.
bool near_level(const MessageSeries& message, const Field& field, const Row& row) {
  constexpr std::size_t samples = 48;
  const std::size_t step = std::max<std::size_t>(1, field.rows.size() / samples);
  std::size_t seen = 0;
  std::size_t near = 0;
  for (std::size_t i = 0; i < field.rows.size(); i += step) {
    const auto code = static_cast<double>(extract(field.place.span, message.row(field.rows[i])));
    ++seen;
    near += code >= row.low && code <= row.high ? 1 : 0;
  }
  return near * 4 >= seen;
}

class Cutter {
 public:
  Cutter(std::span<const MessageSeries> messages, const Survey& survey,
         std::span<const Field> fields)
      : messages_(messages), survey_(survey), fields_(fields), places_(places_of(fields)) {}

  std::vector<Field> run() {
    std::vector<std::vector<std::size_t>> groups = alike_groups(fields_);
    if (groups.size() > most_rows) groups.resize(most_rows);
    for (const std::vector<std::size_t>& group : groups) {
      const std::optional<Row> row = row_of(fields_, group);
      if (!row) continue;
      for (const Place& place : places_) cut(place, *row);
    }
    return std::move(out_);
  }

 private:
  void cut(const Place& place, const Row& row) {
    const MessageSeries& message = messages_[place.message];
    const std::vector<bool> known = explained_bits(message, survey_.messages[place.message]);
    for (std::uint8_t byte = 0; byte < message.length; ++byte) {
      for (const std::uint8_t bit : row.ends) {
        const auto span = Span::from_lsb({byte, bit}, row.width, row.order);
        if (!span || span->last_byte() >= message.length) continue;
        bool is_free = true;
        for (int i = 0; i < span->width(); ++i) is_free &= !known[wire_index(span->position(i))];
        if (is_free) try_at(place, *span, row);
      }
    }
  }

  void try_at(const Place& place, const Span& span, const Row& row) {
    const auto is_there = [&](const Field& field) {
      return field.message == place.message && field.place.page == place.page &&
             field.place.span == span;
    };
    for (const std::size_t f : place.fields) {
      if (is_there(fields_[f])) return;
    }
    if (std::ranges::any_of(out_, is_there)) return;
    Field whole = fields_[place.fields.front()];
    whole.place.span = span;
    whole.is_signed = false;
    whole.is_other_cut = true;
    const MessageSeries& message = messages_[place.message];
    if (!near_level(message, whole, row)) return;
    whole.moved_bits = moved_bits(message, whole);
    measure(message, whole);
    if (whole.moved_bits < 2 || whole.level < row.low || whole.level > row.high ||
        whole.noise > noise_ratio * row.noise) {
      return;
    }
    out_.push_back(std::move(whole));
  }

  std::span<const MessageSeries> messages_;
  const Survey& survey_;
  std::span<const Field> fields_;
  std::vector<Place> places_;
  std::vector<Field> out_;
};

}  // namespace

std::vector<Field> other_cuts(std::span<const MessageSeries> messages, const Survey& survey,
                              std::span<const Field> fields) {
  return Cutter(messages, survey, fields).run();
}

}  // namespace foundling::relate
