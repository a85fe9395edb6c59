#include "tests/signals/random_map.h"

#include <array>
#include <bit>
#include <cmath>
#include <optional>
#include <set>
#include <string>

#include "schemas/signals/field.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

bool chance(Random& random, int percent) {
  return below(random, 100) < static_cast<std::uint64_t>(percent);
}

template <std::size_t N>
const char* one_of(Random& random, const std::array<const char*, N>& words) {
  return words[below(random, N)];
}

std::string random_text(Random& random) {
  static const std::array<const char*, 12> parts{"scale 0.1", "± 0.03 A",   "#",  "\"", "\\",
                                                 "seen",      "two  words", "°C", ":",  "=",
                                                 "(n)",       "Prüfstand"};
  std::string text = "t";
  for (std::uint64_t i = below(random, 5); i > 0; --i) {
    text += ' ';
    text += one_of(random, parts);
  }
  return text;
}

std::string random_name(Random& random, std::string base) {
  static const std::array<const char*, 5> odd{" #", "\"", "\\", " é", "="};
  if (chance(random, 10)) base += one_of(random, odd);
  return base;
}

// Any finite double now and then, else one as people write them.
double random_number(Random& random) {
  if (chance(random, 30)) {
    const auto any = std::bit_cast<double>(random());
    if (std::isfinite(any) && any != 0) return any;
  }
  const double whole = static_cast<double>(below(random, 2000)) - 1000;
  return whole / std::pow(10, static_cast<double>(below(random, 5)));
}

void fill_value(SignalEntry& entry, Random& random) {
  static const std::array<const char*, 8> units{"V",     "A", "°C",         "%",
                                                "l/min", "",  "half \"x\"", "2x"};
  const int width = entry.span.width();
  if (width == 32 && chance(random, 50)) entry.encoding = Encoding::ieee_float;
  if (entry.encoding != Encoding::ieee_float && chance(random, 40)) {
    entry.encoding = Encoding::signed_integer;
  }
  if (entry.encoding == Encoding::unsigned_integer && width > 1 && chance(random, 25)) {
    entry.encoding = width % 4 == 0 && chance(random, 40) ? Encoding::decimal_digits
                     : chance(random, 50)                 ? Encoding::sign_magnitude
                                                          : Encoding::ones_complement;
  }
  entry.words_swapped = width % 16 == 0 && width >= 32 && chance(random, 30);
  entry.unit = one_of(random, units);
  if (chance(random, 15)) {
    double raw = static_cast<double>(below(random, 10)) - 20;
    for (std::uint64_t i = below(random, 4) + 2; i > 0; --i) {
      raw += 1 + static_cast<double>(below(random, 100));
      entry.table.push_back({raw, random_number(random)});
    }
  } else if (chance(random, 80)) {
    entry.scale = random_number(random);
    if (entry.scale == 0) entry.scale = 1;
    if (chance(random, 50)) entry.offset = random_number(random);
    if (entry.offset == 0) entry.offset = 0;
    // No value of any width is beyond what a double holds.
    if (!std::isfinite(std::ldexp(std::abs(entry.scale), 64) + std::abs(entry.offset))) {
      entry.scale = 0.1;
      entry.offset = 0;
    }
  }
}

void fill_words(SignalEntry& entry, Random& random) {
  const int width = entry.span.width();
  const std::uint64_t top = width == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << width) - 1;
  if (chance(random, 25)) {
    for (std::uint64_t code = 0; code <= std::min<std::uint64_t>(top, below(random, 4)); ++code) {
      entry.states.push_back({code, random_name(random, std::string("w") + std::to_string(code))});
    }
  }
  if (chance(random, 25)) {
    const std::uint64_t first = top - std::min<std::uint64_t>(top, below(random, 20));
    entry.reserved.push_back({{first, top}, random_name(random, "not-available")});
  }
  entry.status = static_cast<Status>(below(random, 3));
  if (chance(random, 30)) entry.delay_s = static_cast<double>(below(random, 5000)) / 1000;
  if (chance(random, 20)) entry.time_constant_s = static_cast<double>(below(random, 5000)) / 997;
  if (chance(random, 20)) entry.places.push_back({{}, random_text(random)});
  if (entry.numbers && chance(random, 20)) {
    const auto first = static_cast<std::uint64_t>(entry.numbers->first);
    entry.places.push_back({CodeRange{first, first}, random_text(random)});
  }
  for (std::uint64_t i = below(random, 3); i > 0; --i) entry.notes.push_back(random_text(random));
  for (std::uint64_t i = below(random, 3); i > 0; --i) {
    entry.seen.push_back({random_name(random, "a.capture"),
                          static_cast<std::int64_t>(below(random, 9)),
                          chance(random, 80) ? random_text(random) : ""});
  }
}

// A series of up to 12 fields, on one page or over several.
void make_series(SignalEntry& entry, Random& random) {
  Numbering numbers;
  numbers.first = static_cast<std::int64_t>(below(random, 3));
  numbers.last = numbers.first + static_cast<std::int64_t>(below(random, 12));
  if (chance(random, 30)) numbers.digits = static_cast<int>(below(random, 3)) + 2;
  const auto a_page = static_cast<std::int64_t>(below(random, 3)) + 1;
  if (entry.page) {
    entry.page->value = {.base = entry.page->value.base,
                         .from = numbers.first,
                         .operation = IndexFormula::Operation::div,
                         .by = a_page,
                         .times = 1};
  }
  SpanStep step;
  step.bits.from = numbers.first;
  if (entry.page) {
    step.bits.operation = IndexFormula::Operation::mod;
    step.bits.by = a_page;
  }
  step.bits.times = entry.span.width();
  step.big = chance(random, 30);
  entry.step = step;
  entry.numbers = numbers;
}

// Fits the fields of `entry` among those that are there; false where it cannot.
bool claim(const MessageEntry& message, const SignalEntry& entry, std::vector<Field>& taken) {
  std::vector<Field> mine;
  const std::int64_t first = entry.numbers ? entry.numbers->first : 0;
  const std::int64_t last = entry.numbers ? entry.numbers->last : 0;
  for (std::int64_t n = first; n <= last; ++n) {
    auto field = field_of(message, entry, n);
    if (!field || field->span.last_byte() >= *message.length) return false;
    mine.push_back(*std::move(field));
  }
  for (std::size_t i = 0; i < mine.size(); ++i) {
    const auto clashes = [&mine, i](const Field& other) {
      const bool apart = other.page && mine[i].page && *other.page != *mine[i].page;
      return !apart && other.span.overlaps(mine[i].span);
    };
    for (const Field& other : taken) {
      if (clashes(other)) return false;
    }
    for (std::size_t j = 0; j < i; ++j) {
      if (clashes(mine[j])) return false;
    }
  }
  taken.insert(taken.end(), mine.begin(), mine.end());
  return true;
}

bool claim_span(const Span& span, std::vector<Field>& taken) {
  for (const Field& other : taken) {
    if (other.span.overlaps(span)) return false;
  }
  Field field;
  field.span = span;
  taken.push_back(field);
  return true;
}

void add_checks(MessageEntry& message, std::vector<Field>& taken, Random& random) {
  const int bytes = *message.length;
  if (chance(random, 30)) {
    const Span span = random_span(random, bytes);
    const int width = std::min(span.width(), 20);
    if (claim_span(span, taken)) {
      message.counters.push_back(
          {span, chance(random, 80) ? (std::uint64_t{1} << width) : 0,
           // Odd: a step that is no whole number of rounds, however narrow the counter.
           chance(random, 20) ? 2 * static_cast<std::int64_t>(below(random, 7)) - 7 : 1});
    }
  }
  if (chance(random, 30)) {
    Checksum sum;
    sum.span = random_span(random, bytes);
    sum.kind = random_name(random, "crc8");
    if (chance(random, 70)) sum.polynomial = "1D";
    if (chance(random, 50)) sum.initial = below(random, 256);
    if (chance(random, 50)) sum.final_xor = below(random, 256);
    sum.reflected = chance(random, 20);
    sum.includes_identifier = chance(random, 20);
    if (chance(random, 50)) sum.bytes = CodeRange{0, static_cast<std::uint64_t>(bytes) - 1};
    if (claim_span(sum.span, taken)) message.checksums.push_back(sum);
  }
}

MessageEntry random_message(Random& random, std::set<std::pair<int, std::uint32_t>>& ids,
                            int& names) {
  MessageEntry message;
  do {
    message.bus = static_cast<std::uint8_t>(chance(random, 80) ? 0 : below(random, 256));
    const auto number = static_cast<std::uint32_t>(random());
    message.id = chance(random, 50) ? CanId::standard(number) : CanId::extended(number);
  } while (!ids.emplace(message.bus, message.id.raw).second);
  message.length =
      static_cast<int>(chance(random, 80) ? below(random, 8) + 1 : below(random, 64) + 1);
  // Every eighth identifier: told from its number, so that maps of frames stay the ones they were.
  const std::uint32_t number = message.id.number();
  if (number % 8 == 0) {
    const bool addressed = number % 16 == 0 && !message.id.is_extended();
    message.length = static_cast<int>(number / 8 % 255) + 1;
    message.id =
        payload_id(message.id, addressed ? Transport{Transport::Kind::addressed_segments,
                                                     static_cast<std::uint8_t>(number / 16)}
                                         : Transport{Transport::Kind::segments, 0});
  }
  if (chance(random, 70))
    message.period_ns = static_cast<std::int64_t>(below(random, 2'000'000'000)) + 1;
  std::vector<Field> taken;
  if (chance(random, 40)) {
    Selector selector{random_name(random, "page"), random_span(random, *message.length), {}};
    if (claim_span(selector.span, taken)) message.selectors.push_back(selector);
  }
  add_checks(message, taken, random);
  for (std::uint64_t i = below(random, 6); i > 0; --i) {
    SignalEntry entry;
    entry.name = random_name(random, std::string("s") + std::to_string(names++));
    entry.span = random_span(random, *message.length);
    if (!message.selectors.empty() && chance(random, 70)) {
      entry.page = PageOf{message.selectors[0].name,
                          {.base = static_cast<std::int64_t>(below(random, 3)), .times = 0}};
    }
    if (chance(random, 25)) make_series(entry, random);
    fill_value(entry, random);
    fill_words(entry, random);
    if (claim(message, entry, taken)) message.signals.push_back(std::move(entry));
  }
  if (chance(random, 20)) message.pins.push_back({"7", random_text(random)});
  if (chance(random, 20)) message.notes.push_back(random_text(random));
  return message;
}

void strew(std::vector<Node>& nodes, Random& random, int level) {
  for (Node& node : nodes) {
    const bool text_line = std::holds_alternative<fact::Note>(node.fact) ||
                           std::holds_alternative<Evidence>(node.fact) ||
                           std::holds_alternative<fact::Blank>(node.fact);
    if (!text_line && chance(random, 15)) node.comment = std::string("# ") + random_text(random);
    if (level < 2 && !node.children.empty()) strew(node.children, random, level + 1);
  }
  const std::size_t at = below(random, nodes.size() + 1);
  if (!nodes.empty() && chance(random, 40)) {
    Node comment;
    comment.fact = fact::Comment{std::string("# ") + random_text(random)};
    nodes.insert(nodes.begin() + static_cast<std::ptrdiff_t>(at), comment);
  }
}

}  // namespace

std::uint64_t below(Random& random, std::uint64_t limit) { return random() % limit; }

Span random_span(Random& random, int bytes) {
  const auto byte = static_cast<std::uint8_t>(below(random, static_cast<std::uint64_t>(bytes)));
  const auto bit = static_cast<std::uint8_t>(below(random, 8));
  const std::array<int, 6> widths{1, 4, 8, 12, 16, 32};
  const int width =
      chance(random, 70) ? widths[below(random, 6)] : static_cast<int>(below(random, 64)) + 1;
  const auto order = static_cast<ByteOrder>(below(random, 3));
  const auto span = Span::from_lsb({byte, bit}, width, order);
  if (span && span->last_byte() < bytes) return *span;
  return Span{{byte, 7}, {byte, 0}};
}

SignalMap random_map(Random& random) {
  SignalMap map;
  if (chance(random, 80)) map.board = random_text(random);
  if (chance(random, 80)) map.bit_rate = 500'000;
  if (chance(random, 20)) map.data_bit_rate = 2'000'000;
  if (chance(random, 30)) map.pins.push_back({"A 12", random_text(random)});
  if (chance(random, 30)) map.notes.push_back(random_text(random));
  std::set<std::pair<int, std::uint32_t>> ids;
  int names = 0;
  for (std::uint64_t i = below(random, 4); i > 0; --i) {
    map.messages.push_back(random_message(random, ids, names));
  }
  return map;
}

void add_comments(Document& document, Random& random) {
  if (chance(random, 20)) document.header_comment = std::string("# ") + random_text(random);
  strew(document.nodes, random, 0);
}

}  // namespace foundling
