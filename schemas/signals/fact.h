// What one line of a signal map can say. Every kind of line is a struct here; fact_reader.h makes
// one from a line, fact_text.h the line from one. Spec: schemas/signals/README.md.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>

#include "schemas/signals/signal_map.h"

namespace foundling::fact {

struct Blank {
  bool operator==(const Blank&) const = default;
};
struct Comment {  // a line of its own; text begins with '#'
  std::string text;
  bool operator==(const Comment&) const = default;
};
struct Board {
  std::string name;
  bool operator==(const Board&) const = default;
};
struct BitRate {
  std::int64_t rate = 0;
  bool data = false;  // of the data phase, FD
  bool operator==(const BitRate&) const = default;
};
struct Note {
  std::string text;
  bool operator==(const Note&) const = default;
};
struct MessageHead {
  CanId id;
  std::uint8_t bus = 0;
  std::int64_t period_ns = 0;
  std::optional<int> length;
  bool operator==(const MessageHead&) const = default;
};
struct SignalHead {
  std::string name;
  bool operator==(const SignalHead&) const = default;
};
struct SeriesHead {
  std::string name;
  Numbering numbers;
  bool operator==(const SeriesHead&) const = default;
};
struct Bits {
  Span span;
  std::optional<SpanStep> step;
  Encoding encoding = Encoding::unsigned_integer;
  bool words_swapped = false;
  bool operator==(const Bits&) const = default;
};
struct Linear {
  double scale = 1;
  double offset = 0;
  std::string unit;
  bool operator==(const Linear&) const = default;
};
struct TableHead {
  std::string unit;
  bool operator==(const TableHead&) const = default;
};
struct StatusLine {
  Status status = Status::proposed;
  bool operator==(const StatusLine&) const = default;
};
struct Delay {
  double seconds = 0;
  bool operator==(const Delay&) const = default;
};
struct TimeConstant {
  double seconds = 0;
  bool operator==(const TimeConstant&) const = default;
};

using Fact =
    std::variant<Blank, Comment, Board, BitRate, Note, MessageHead, Selector, Counter, Checksum,
                 SignalHead, SeriesHead, PageOf, Bits, Linear, TableHead, TablePoint, StateWord,
                 ReservedCode, StatusLine, Delay, TimeConstant, PlaceWords, Pin, Evidence>;

}  // namespace foundling::fact
