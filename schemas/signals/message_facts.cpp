#include "schemas/signals/message_facts.h"

#include <array>
#include <charconv>
#include <cmath>
#include <set>
#include <span>

#include "schemas/signals/hints.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

constexpr std::int64_t highest_member = 1'000'000;
constexpr std::int64_t most_members = 4096;  // a series, even of a hostile map, stays small
constexpr std::size_t most_ranges = 256;

// "20 ms" in nanoseconds.
std::optional<std::int64_t> read_period(LineReader& line) {
  static const std::array<std::string, 3> units{"s", "ms", "us"};
  const Token token = line.peek();
  const auto amount = line.number("a period, such as 20 ms");
  if (!amount) return {};
  const auto unit = line.word_of("s, ms or us", units);
  if (!unit) return {};
  const double factor = *unit == "s" ? 1e9 : *unit == "ms" ? 1e6 : 1e3;
  const double nanoseconds = std::round(*amount * factor);
  if (nanoseconds < 1 || nanoseconds > 1e15) {
    line.fail(token, "a period above zero and below 1000000 s");
    return {};
  }
  return static_cast<std::int64_t>(nanoseconds);
}

std::optional<CanId> read_identifier(LineReader& line) {
  const Token token = line.peek();
  const auto number = line.hexadecimal("an identifier in hexadecimal, such as 1A4", 0x1FFFFFFF);
  if (!number) return {};
  const auto narrow = static_cast<std::uint32_t>(*number);
  if (line.accept("extended")) return CanId::extended(narrow);
  if (narrow > 0x7FF) {
    line.fail(token, "an 11-bit identifier up to 7FF",
              "a 29-bit identifier is written: message " + token.text() + " extended");
    return {};
  }
  return CanId::standard(narrow);
}

// A clause's word, which may come once.
std::optional<std::string> read_clause_word(LineReader& line, std::string_view what,
                                            std::span<const std::string> clauses,
                                            std::set<std::string>& seen) {
  const Token token = line.peek();
  auto word = line.word_of(what, clauses, habit_hint(token.source));
  if (word && !seen.insert(*word).second) {
    line.fail(token, "each clause once", "it stands on this line before");
    return {};
  }
  return word;
}

// "segments", and the address in front of them; false when it was reported.
bool read_transport(LineReader& line, CanId& id) {
  static const std::array<std::string, 1> kinds{"segments"};
  if (!line.word_of("segments (ISO 15765-2)", kinds)) return false;
  const Token token = line.peek();
  Transport transport{Transport::Kind::segments, 0};
  if (line.accept("address")) {
    const auto address = line.hexadecimal("an address in hexadecimal, such as F1", 0xFF);
    if (!address) return false;
    if (id.is_extended()) {
      line.fail(token, "segments without an address, for 29 bits of identifier");
      return false;
    }
    transport = {Transport::Kind::addressed_segments, static_cast<std::uint8_t>(*address)};
  }
  id = payload_id(id, transport);
  return true;
}

// One clause of a message's line; false when it was reported.
bool read_clause(LineReader& line, fact::MessageHead& head, std::set<std::string>& seen,
                 Token& length_at) {
  static const std::array<std::string, 5> clauses{"bus", "every", "length", "extended",
                                                  "transport"};
  const auto word =
      read_clause_word(line, "transport, bus, every, length or the end of the line", clauses, seen);
  if (!word) return false;
  if (*word == "bus") {
    const auto bus = line.integer("a bus number", 0, 255);
    if (bus) head.bus = static_cast<std::uint8_t>(*bus);
    return bus.has_value();
  }
  if (*word == "every") {
    const auto period = read_period(line);
    if (period) head.period_ns = *period;
    return period.has_value();
  }
  if (*word == "transport") return read_transport(line, head.id);
  if (*word == "length") {
    length_at = line.peek();
    const auto length = line.integer("a payload length in bytes", 0, longest_payload);
    if (length) head.length = static_cast<int>(*length);
    return length.has_value();
  }
  head.id = payload_id(CanId::extended(head.id.number()), transport_of(head.id));
  return true;
}

std::optional<fact::Fact> read_rate(LineReader& line, bool data) {
  const std::string hint = "a rate is a whole number of bit/s, such as 500000";
  const std::string_view source = line.peek().source;
  if (source.find_first_not_of("0123456789") != std::string_view::npos) {
    line.fail(line.peek(), "a bit rate in bit/s", hint);
    return {};
  }
  const auto rate = line.integer("a bit rate in bit/s", 1, 20'000'000);
  if (!rate) return {};
  if (line.peek().kind == Token::Kind::word) {
    line.fail(line.peek(), "the end of the line", hint);
    return {};
  }
  return fact::BitRate{*rate, data};
}

// "1..28": the members, and from "01..08" that they have two digits.
std::optional<Numbering> read_numbering(LineReader& line) {
  const Token token = line.peek();
  const auto dots = token.source.find("..");
  Numbering numbers;
  const auto read = [](std::string_view text, std::int64_t& to) {
    const auto [stop, failure] = std::from_chars(text.data(), text.data() + text.size(), to);
    return !text.empty() && failure == std::errc{} && stop == text.data() + text.size() && to >= 0;
  };
  if (token.kind != Token::Kind::word || dots == std::string_view::npos ||
      !read(token.source.substr(0, dots), numbers.first) ||
      !read(token.source.substr(dots + 2), numbers.last)) {
    const auto dash = token.source.find('-');
    std::string hint;
    if (dash != std::string_view::npos) {
      hint = "did you mean " + std::string(token.source.substr(0, dash)) + ".." +
             std::string(token.source.substr(dash + 1)) + '?';
    }
    line.fail(token, "the first and the last member, such as 1..28", hint);
    return {};
  }
  if (numbers.last < numbers.first || numbers.last > highest_member ||
      numbers.last - numbers.first >= most_members || dots > 9) {
    const bool falls = numbers.last < numbers.first;
    line.fail(token,
              falls ? "members in ascending order"
                    : "at most " + std::to_string(most_members) + " members",
              falls ? "did you mean " + std::to_string(numbers.last) + ".." +
                          std::to_string(numbers.first) + '?'
                    : "");
    return {};
  }
  const auto padded = token.source.starts_with('0') && dots > 1;
  numbers.digits = padded ? static_cast<int>(dots) : 1;
  line.take();
  return numbers;
}

}  // namespace

std::optional<fact::Fact> read_board(LineReader& line) {
  auto name = line.text("the board's name in quotes");
  if (!name) return {};
  return fact::Board{*std::move(name)};
}

std::optional<fact::Fact> read_bit_rate(LineReader& line) { return read_rate(line, false); }

std::optional<fact::Fact> read_data_bit_rate(LineReader& line) { return read_rate(line, true); }

std::optional<fact::Fact> read_message(LineReader& line) {
  const auto id = read_identifier(line);
  if (!id) return {};
  fact::MessageHead head;
  head.id = *id;
  std::set<std::string> seen;
  Token length_at;
  while (line.peek().kind != Token::Kind::end) {
    if (!read_clause(line, head, seen, length_at)) return {};
  }
  if (!is_payload(head.id) && head.length.value_or(0) > static_cast<int>(longest_frame)) {
    line.fail(length_at, "a payload length in bytes between 0 and 64");
    return {};
  }
  return head;
}

std::optional<fact::Fact> read_selector(LineReader& line) {
  Selector selector;
  auto name = line.text("the selector's name");
  if (!name || !line.expect("bits", "write: selector page bits 0.7..0.0")) return {};
  selector.name = *std::move(name);
  const auto span = line.bits("bits, such as 0.7..0.0");
  if (!span) return {};
  selector.span = *span;
  if (!line.accept("values")) return selector;
  do {
    const auto range = line.code_range("a value or a range, such as 0..9");
    if (!range) return {};
    selector.values.push_back(*range);
    if (selector.values.size() > most_ranges) {
      line.fail(line.peek(), "at most " + std::to_string(most_ranges) + " ranges of values");
      return {};
    }
  } while (line.accept(","));
  return selector;
}

std::optional<fact::Fact> read_counter(LineReader& line) {
  Counter counter;
  if (!line.expect("bits", "write: counter bits 6.3..6.0")) return {};
  const auto span = line.bits("bits, such as 6.3..6.0");
  if (!span) return {};
  counter.span = *span;
  if (line.accept("modulo")) {
    const auto modulus = line.code("a modulus, such as 16");
    if (!modulus) return {};
    counter.modulus = *modulus;
  }
  if (line.accept("step")) {
    const auto step = line.integer("a step", -1'000'000'000, 1'000'000'000);
    if (!step) return {};
    counter.step = *step;
  }
  return counter;
}

namespace {

// polynomial, initial, final, reflected, identifier, bytes; false when it was reported.
bool read_checksum_clause(LineReader& line, Checksum& checksum, std::set<std::string>& seen) {
  static const std::array<std::string, 6> clauses{"polynomial", "initial",    "final",
                                                  "reflected",  "identifier", "bytes"};
  const auto word = read_clause_word(
      line, "polynomial, initial, final, reflected, identifier, bytes or the end of the line",
      clauses, seen);
  if (!word) return false;
  if (*word == "reflected") return checksum.reflected = true;
  if (*word == "identifier") return checksum.includes_identifier = true;
  if (*word == "polynomial") {
    const Token token = line.peek();
    const auto value = line.hexadecimal("a polynomial in hexadecimal, such as 1D", UINT64_MAX);
    if (value) checksum.polynomial = token.text();
    return value.has_value();
  }
  if (*word == "bytes") {
    checksum.bytes = line.code_range("the first and the last byte, such as 0..6");
    return checksum.bytes.has_value();
  }
  const auto value = line.code("a code, such as 0xFF");
  (*word == "initial" ? checksum.initial : checksum.final_xor) = value;
  return value.has_value();
}

}  // namespace

std::optional<fact::Fact> read_checksum(LineReader& line) {
  Checksum checksum;
  if (!line.expect("bits", "write: checksum bits 7.7..7.0 crc8 polynomial 1D")) return {};
  const auto span = line.bits("bits, such as 7.7..7.0");
  if (!span) return {};
  auto kind = line.text("the kind of checksum, such as crc8, sum8 or xor8");
  if (!kind) return {};
  checksum.span = *span;
  checksum.kind = *std::move(kind);
  std::set<std::string> seen;
  while (line.peek().kind != Token::Kind::end) {
    if (!read_checksum_clause(line, checksum, seen)) return {};
  }
  return checksum;
}

std::optional<fact::Fact> read_signal(LineReader& line) {
  auto name = line.text("the signal's name");
  if (!name) return {};
  return fact::SignalHead{*std::move(name)};
}

std::optional<fact::Fact> read_series(LineReader& line) {
  auto name = line.text("the series' name");
  if (!name) return {};
  const auto numbers = read_numbering(line);
  if (!numbers) return {};
  return fact::SeriesHead{*std::move(name), *numbers};
}

}  // namespace foundling
