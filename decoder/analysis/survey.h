// What a bus says without any stimulus: identifiers, timing, constants, counters, checksums,
// selectors. Pure: messages in, structs out.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/span.h"

namespace foundling {

struct CounterFinding {
  Span span;
  std::int64_t step = 1;      // added each frame (or each frame of its page), modulo `modulus`
  std::uint64_t modulus = 0;  // 16 for four bits; 15 where the top value is skipped
};

struct ChecksumFinding {
  Span span;
  std::string kind;        // "crc8", "crc16", "crc32", "sum8", "xor8", "j1939", ...
  std::string polynomial;  // hex, normal form, no prefix ("1D"); empty where there is none
  std::optional<std::uint64_t> initial;  // start value where it can be told
  std::optional<std::uint64_t> final_xor;
  bool reflected = false;
  int first_byte = 0;  // bytes first..last take part, less the checksum's own
  int last_byte = 0;
  bool includes_identifier = false;  // the identifier takes part in the sum
  std::string name;                  // the published name where the parameters match one
  std::string note;                  // anything else a person should know
};

struct SelectorFinding {
  Span span;
  std::vector<std::uint64_t> values;  // seen, ascending
};

// Two runs of bytes that said the same in every frame: one value sent twice, or two that never
// differed. No checksum.
struct CopyFinding {
  Span first;
  Span second;
};

struct MessageSurvey {
  std::uint8_t bus = 0;
  CanId id;
  std::uint64_t frames = 0;
  double period_s = 0;       // median time between frames; 0 with fewer than two
  double mean_period_s = 0;  // first to last frame, by the steps between: in bursts another
  double jitter_s = 0;       // robust standard deviation of that time
  bool in_bursts = false;    // the median is the time within a burst, the mean tells the load
  bool event_driven = false;
  int length = 0;  // bytes; the longest seen
  bool length_varies = false;
  std::vector<Span> constant_bits;  // longest runs of bits that never changed
  std::vector<CounterFinding> counters;
  std::vector<ChecksumFinding> checksums;
  std::vector<SelectorFinding> selectors;
  std::vector<CopyFinding> copies = {};
  bool segmented_transport = false;  // ISO 15765-2 frame types seen to fit
};

struct Survey {
  std::vector<MessageSurvey> messages;  // by bus, then identifier (standard before extended)
};

[[nodiscard]] MessageSurvey survey_message(const MessageSeries& message);
[[nodiscard]] Survey survey(std::span<const MessageSeries> messages);

}  // namespace foundling
