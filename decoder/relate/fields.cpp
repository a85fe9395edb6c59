#include "decoder/relate/fields.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "decoder/relate/joined_bits.h"
#include "decoder/relate/middle.h"
#include "decoder/relate/silences.h"

namespace foundling::relate {
namespace {

constexpr int usual_width = 16;  // constant bits above a field are taken in up to this

void own(std::vector<bool>& owned, const Span& span) {
  for (int i = 0; i < span.width(); ++i) {
    const std::size_t bit = wire_index(span.position(i));
    if (bit < owned.size()) owned[bit] = true;
  }
}

}  // namespace

std::vector<bool> explained_bits(const MessageSeries& message, const MessageSurvey& known) {
  std::vector<bool> owned(message.length * std::size_t{8});
  for (const CounterFinding& counter : known.counters) own(owned, counter.span);
  for (const ChecksumFinding& checksum : known.checksums) own(owned, checksum.span);
  for (const SelectorFinding& selector : known.selectors) own(owned, selector.span);
  return owned;
}

namespace {

// Upwards over constant bits that belong to nothing, in the field's own direction; of a field
// inside one byte in that of the board.
Span with_constant_top(Span span, const std::vector<bool>& taken, ByteOrder preferred) {
  const ByteOrder order = span.order() == ByteOrder::single ? preferred : span.order();
  while (span.width() < usual_width) {
    const auto wider = Span::from_lsb(span.lsb, span.width() + 1, order);
    if (!wider || wire_index(wider->msb) >= taken.size() || taken[wire_index(wider->msb)]) break;
    span = *wider;
  }
  return span;
}

double raw_code(const Span& span, std::span<const std::uint8_t> row, bool is_signed) {
  const std::uint64_t raw = extract(span, row);
  return is_signed ? static_cast<double>(sign_extend(raw, span.width())) : static_cast<double>(raw);
}

double path(const std::vector<double>& codes) {
  double sum = 0;
  for (std::size_t i = 1; i < codes.size(); ++i) {
    const double step = codes[i] - codes[i - 1];
    if (!std::isnan(step)) sum += std::abs(step);
  }
  return sum;
}

double noise_of_bends(const std::vector<double>& codes) {
  std::vector<double> bends;
  for (std::size_t i = 2; i < codes.size(); ++i) {
    const double bend = codes[i] - 2 * codes[i - 1] + codes[i - 2];
    if (!std::isnan(bend)) bends.push_back(std::abs(bend));
  }
  // The middle of a normal distribution's size is 0.6745 deviations; a bend has sqrt(6) of them.
  return middle(std::move(bends)) / 0.6745 / std::sqrt(6.0);
}

}  // namespace

void measure(const MessageSeries& message, Field& field) {
  std::vector<double> codes = codes_of(message, field);
  if (field.place.span.width() == field.moved_bits && field.moved_bits > 2) {
    Field other = field;
    other.is_signed = true;
    std::vector<double> as_signed = codes_of(message, other);
    if (path(as_signed) < 0.5 * path(codes)) {
      field.is_signed = true;
      codes = std::move(as_signed);
    }
  }
  if (field.sent_on_change) {
    field.noise = noise_over_silences(message, field, codes);
  } else {
    field.noise = noise_of_bends(codes);
  }
  std::erase_if(codes, [](double code) { return std::isnan(code); });
  field.level = middle(std::move(codes));
}

bool share_bits(const Field& a, const Field& b) {
  if (!a.is_other_cut && !b.is_other_cut) return false;
  if (a.message != b.message || a.place.page != b.place.page) return false;
  for (int i = 0; i < a.place.span.width(); ++i) {
    if (b.place.span.contains(a.place.span.position(i))) return true;
  }
  return false;
}

std::vector<std::uint32_t> rows_on(const MessageSeries& message, const std::optional<Page>& page) {
  std::vector<std::uint32_t> rows;
  for (std::uint32_t i = 0; i < message.size(); ++i) {
    if (!message.lengths.empty() && message.lengths[i] != message.length) continue;
    if (!page || extract(page->span, message.row(i)) == page->value) rows.push_back(i);
  }
  return rows;
}

std::vector<double> codes_of(const MessageSeries& message, const Field& field) {
  const Span& span = field.place.span;
  const std::uint64_t ones = ~std::uint64_t{0} >> (64 - span.width());
  std::vector<double> codes;
  codes.reserve(field.rows.size());
  for (const std::uint32_t row : field.rows) {
    const auto bytes = message.row(row);
    const bool empty = span.width() >= 8 && !field.is_signed && extract(span, bytes) == ones;
    codes.push_back(empty ? std::numeric_limits<double>::quiet_NaN()
                          : raw_code(span, bytes, field.is_signed));
  }
  return codes;
}

namespace {

// One message on one of its pages.
struct Part {
  std::size_t message = 0;
  std::optional<Page> page;
  std::vector<std::uint32_t> rows;
  std::vector<bool> owned;
};

std::vector<Part> parts_of(std::span<const MessageSeries> messages, const Survey& survey) {
  std::vector<Part> parts;
  for (std::size_t m = 0; m < messages.size(); ++m) {
    const MessageSurvey& known = survey.messages[m];
    std::vector<std::optional<Page>> pages;
    for (const SelectorFinding& selector : known.selectors) {
      for (const std::uint64_t value : selector.values)
        pages.emplace_back(Page{selector.span, value});
    }
    if (pages.empty()) pages.emplace_back();
    for (const std::optional<Page>& page : pages) {
      Part part{m, page, rows_on(messages[m], page), explained_bits(messages[m], known)};
      if (part.rows.size() >= 8) parts.push_back(std::move(part));
    }
  }
  return parts;
}

// Pages of a message mostly have one layout, and so have neighbouring messages that are sent at one
// rate.
bool are_alike(std::span<const MessageSeries> messages, const Part& a, const Part& b) {
  if (a.message == b.message) return true;
  const MessageSeries& one = messages[a.message];
  const MessageSeries& two = messages[b.message];
  const double rows_a = static_cast<double>(a.rows.size());
  const double rows_b = static_cast<double>(b.rows.size());
  return one.bus == two.bus && one.length == two.length && !a.page && !b.page &&
         two.id.number() - one.id.number() <= 16 && rows_a < 1.1 * rows_b && rows_b < 1.1 * rows_a;
}

void add_fields(const MessageSeries& message, const Part& part, const std::vector<Span>& spans,
                ByteOrder preferred, std::vector<Field>& fields) {
  std::vector<bool> taken = part.owned;
  for (const Span& span : spans) own(taken, span);
  const double seconds =
      static_cast<double>(message.t_ns[part.rows.back()] - message.t_ns[part.rows.front()]) * 1e-9;
  for (const Span& span : spans) {
    Field field;
    field.place = {message.bus, message.id, part.page, with_constant_top(span, taken, preferred)};
    field.message = part.message;
    field.moved_bits = span.width();
    field.period_s = seconds / static_cast<double>(part.rows.size() - 1);
    field.rows = part.rows;
    measure_silences(message, field);
    measure(message, field);
    fields.push_back(std::move(field));
  }
}

}  // namespace

std::vector<Field> find_fields(std::span<const MessageSeries> messages, const Survey& survey) {
  const std::vector<Part> parts = parts_of(messages, survey);
  OrderVotes votes;
  for (const Part& part : parts) {
    votes.add(order_votes(messages[part.message], part.rows, part.owned));
  }
  std::vector<Field> fields;
  for (std::size_t first = 0; first < parts.size();) {
    std::size_t end = first;
    std::vector<std::vector<Span>> pages;
    for (; end < parts.size() && (end == first || are_alike(messages, parts[end - 1], parts[end]));
         ++end) {
      pages.push_back(joined_bits(messages[parts[end].message], parts[end].rows, parts[end].owned,
                                  votes.preferred()));
    }
    join_as_on_other_pages(pages);
    for (std::size_t p = first; p < end; ++p) {
      add_fields(messages[parts[p].message], parts[p], pages[p - first], votes.preferred(), fields);
    }
    first = end;
  }
  return fields;
}

}  // namespace foundling::relate
