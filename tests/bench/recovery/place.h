// Does a proposed place name the true field? Judged on the frames, so that a span that leaves out
// bits which never moved, or a page named by fewer selector bits, counts as the same.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "schemas/values/frame.h"
#include "tests/bench/recovery/truth.h"

namespace foundling::recovery {

[[nodiscard]] const MessageSeries* find_message(const std::vector<MessageSeries>& messages,
                                                std::uint8_t bus, CanId id);

// Rows of the message on that page (all rows for no page).
[[nodiscard]] std::vector<std::size_t> rows_of(const MessageSeries& message,
                                               const std::optional<Page>& page);
[[nodiscard]] std::optional<Page> page_of(const TrueField& field);

// Bits of `span` that changed over these rows while `field` said what was measured.
[[nodiscard]] std::uint64_t moved_bits(const MessageSeries& message,
                                       std::span<const std::size_t> rows, const Span& span,
                                       const TrueField& field);

// Message, page, lowest bit and byte order agree. A field inside one byte has no order of its own.
// A state field's place agrees when the bits that move are the same.
[[nodiscard]] bool same_place(const MessageSeries& message, const TrueField& field,
                              const FieldPlace& place);

// Exact, or exact on the moved bits: every moved bit is covered, no other moved bit is.
[[nodiscard]] bool same_moved_bits(const MessageSeries& message, const TrueField& field,
                                   const Span& span);

// Numbers of top bits that never changed, with and without reserved codes.
[[nodiscard]] bool untested_right(const MessageSeries& message, const TrueField& field,
                                  const Span& span, int untested_high_bits);

[[nodiscard]] double raw_value(std::uint64_t raw, int width, bool is_signed, bool is_float);

[[nodiscard]] std::string describe(const FieldPlace& place);
[[nodiscard]] std::string describe(const TrueField& field);

}  // namespace foundling::recovery
