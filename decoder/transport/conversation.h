// Who asks whom, on a bus where one node reads data from another (ISO 14229-1): requests and their
// answers among whole payloads, with what was refused and why. Pure.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/span.h"

namespace foundling {

// How many bytes of a read's payload say what is read, its service apart: 2 of 22 (and of its
// answer 62) and of 24, 1 of 21 (and 61). Nothing of what is no such payload.
[[nodiscard]] std::optional<std::size_t> identifier_bytes_of(std::span<const std::uint8_t> payload);

// Of payloads that are nearly all reads, or nearly all answers to them: the bits that say which
// data the rest holds, service and data identifier together.
[[nodiscard]] std::optional<Span> data_selector(const MessageSeries& payloads);

// Whether the payload answers the request: its service plus 0x40 and the same data identifier, or
// 7F, its service and a code.
[[nodiscard]] bool answers(std::span<const std::uint8_t> request,
                           std::span<const std::uint8_t> payload);

struct Conversation {
  std::uint8_t bus = 0;
  CanId asks;
  CanId replies;
  std::uint64_t requests = 0;
  std::uint64_t answered = 0;                     // with data
  std::uint64_t unanswered = 0;                   // nothing came within P2* (5 s)
  std::map<std::uint8_t, std::uint64_t> refused;  // code of ISO 14229-1, how often
  double period_s = 0;                            // median time between requests
};

// Of payload messages among `messages`; those with less than three answers are left out.
[[nodiscard]] std::vector<Conversation> conversations(std::span<const MessageSeries> messages);

}  // namespace foundling
