// All that is known about one board's bus, as plain data: what a `*.signals` file says, without its
// comments. Owns nothing but values; reads and writes no files. The text is
// schemas/signals/README.md; read_signals (read.h) makes this from text, write_signals (write.h)
// text from this.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "schemas/signals/index_formula.h"
#include "schemas/values/frame.h"
#include "schemas/values/span.h"

namespace foundling {

struct CodeRange {  // raw codes first..last, both included
  std::uint64_t first = 0;
  std::uint64_t last = 0;
  auto operator<=>(const CodeRange&) const = default;
};

enum class Encoding : std::uint8_t {
  unsigned_integer,
  signed_integer,  // two's complement
  ieee_float,
  sign_magnitude,   // the top bit says minus
  ones_complement,  // all bits turned over say minus
  decimal_digits,   // four bits a digit
};

enum class Status : std::uint8_t { proposed, confirmed, refuted };

struct TablePoint {  // raw reads as value; straight lines between points, nothing beyond them
  double raw = 0;
  double value = 0;
  bool operator==(const TablePoint&) const = default;
};

struct StateWord {
  std::uint64_t code = 0;  // the field's bits, as unsigned
  std::string word;
  bool operator==(const StateWord&) const = default;
};

struct ReservedCode {
  CodeRange codes;   // the field's bits, as unsigned
  std::string word;  // not-available, error, ...
  bool operator==(const ReservedCode&) const = default;
};

struct Evidence {      // where a finding came from
  std::string source;  // the capture's file name
  std::int64_t session = 0;
  std::string text;
  bool operator==(const Evidence&) const = default;
};

struct PlaceWords {  // where what a signal measures sits in the pack, in a person's words
  std::optional<CodeRange> members;  // of a series; nothing: all of it
  std::string text;
  bool operator==(const PlaceWords&) const = default;
};

struct Pin {         // of the board's connector
  std::string name;  // 7, A12
  std::string text;
  bool operator==(const Pin&) const = default;
};

struct PageOf {  // the layout holds where the message's selector of this name has this value
  std::string selector;
  IndexFormula value;  // a plain number is a formula with times 0
  bool operator==(const PageOf&) const = default;
};

struct Numbering {  // of a series: members first..last, written with at least `digits` digits
  std::int64_t first = 1;
  std::int64_t last = 1;
  int digits = 1;
  bool operator==(const Numbering&) const = default;
};

struct SignalEntry {
  std::string name;                  // of a series: what stands before _01
  std::optional<Numbering> numbers;  // set: a series
  std::optional<PageOf> page;
  Span span;                     // of a series: before `step`
  std::optional<SpanStep> step;  // only in a series
  Encoding encoding = Encoding::unsigned_integer;
  bool words_swapped = false;  // the field's words of 16 bits stand in reverse order
  double scale = 1;            // physical = raw * scale + offset, where there is no table
  double offset = 0;
  std::vector<TablePoint> table;  // ascending in raw; two or more, or none
  std::string unit;               // empty: a bare number
  std::vector<StateWord> states;  // not empty: a state signal
  std::vector<ReservedCode> reserved;
  Status status = Status::proposed;
  double delay_s = 0;          // the value lags the bench by this
  double time_constant_s = 0;  // and is low-passed by this
  std::vector<PlaceWords> places;
  std::vector<std::string> notes;
  std::vector<Evidence> seen;
  bool operator==(const SignalEntry&) const = default;
};

struct Selector {
  std::string name;
  Span span;
  std::vector<CodeRange> values;  // the pages there are; empty: not said
  bool operator==(const Selector&) const = default;
};

struct Counter {
  Span span;
  std::uint64_t modulus = 0;  // 0: not said
  std::int64_t step = 1;
  bool operator==(const Counter&) const = default;
};

struct Checksum {
  Span span;
  std::string kind;        // crc8, crc16, sum8, xor8, j1939, ...
  std::string polynomial;  // hex, normal form, no prefix; empty where there is none
  std::optional<std::uint64_t> initial;
  std::optional<std::uint64_t> final_xor;
  bool reflected = false;
  bool includes_identifier = false;
  std::optional<CodeRange> bytes;  // first..last byte that take part, less the checksum's own
  bool operator==(const Checksum&) const = default;
};

struct MessageEntry {
  CanId id;
  std::uint8_t bus = 0;
  std::int64_t period_ns = 0;  // 0: not said, or sent on events
  std::optional<int> length;   // bytes
  std::vector<Pin> pins;
  std::vector<std::string> notes;
  std::vector<Selector> selectors;
  std::vector<Counter> counters;
  std::vector<Checksum> checksums;
  std::vector<SignalEntry> signals;  // and series, in the file's order
  bool operator==(const MessageEntry&) const = default;
};

struct SignalMap {
  std::string board;
  std::int64_t bit_rate = 0;       // 0: not said
  std::int64_t data_bit_rate = 0;  // FD; 0: not said
  std::vector<Pin> pins;
  std::vector<std::string> notes;
  std::vector<MessageEntry> messages;
  bool operator==(const SignalMap&) const = default;
};

}  // namespace foundling
