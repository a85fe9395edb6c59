// A stream: the frames of one message on one of its pages, or on all of them, as a bit matrix.
// The search for signals runs over streams, so a paged message is no special case.
// Frames of the start-up, in which a byte still says "not available" (all ones), are left out.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "decoder/analysis/bit_matrix.h"
#include "decoder/analysis/coded_spans.h"
#include "decoder/analysis/proposal.h"
#include "decoder/analysis/survey.h"

namespace foundling {

struct Stream {
  std::uint8_t bus = 0;
  CanId id;
  std::optional<Page> page;
  std::size_t message = 0;  // index of the message it comes from
  BitMatrix bits;
  double period_s = 0;           // median time between its frames; 0 with fewer than two
  std::vector<bool> owned;       // a bit: counter, checksum or selector, so not a quantity
  std::vector<bool> moving;      // a bit: changes, and is not owned
  bool ends_anywhere = false;    // the board's fields keep to no bytes or nibbles, as others showed
  std::vector<CodedSpan> coded;  // that read as numbers in a code of their own

  [[nodiscard]] FieldPlace place(const Span& span) const { return {bus, id, page, span}; }
};

// Of one message: which of its frames stand for no value; empty where all do.
using LeftOut = std::vector<bool>;

// Streams of all messages: for each the whole message, then one a page where it has a selector.
// `left_out`: one a message, or none.
[[nodiscard]] std::vector<Stream> make_streams(std::span<const MessageSeries> messages,
                                               const Survey& survey,
                                               std::span<const LeftOut> left_out = {});

}  // namespace foundling
