// The decoder against the slow one, on random maps and random frames.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "decoder/decode/decode.h"
#include "tests/decode/slow_decoder.h"
#include "tests/signals/random_map.h"

using namespace foundling;

namespace {

SlowValue plain(const Decoder& decoder, const DecodedValue& value) {
  const std::string& name = decoder.fields()[value.field].name;
  if (value.kind == ValueKind::number) return {name, true, value.number, {}};
  if (value.kind == ValueKind::code) return {name, false, 0, "code " + std::to_string(value.raw)};
  return {name, false, 0, std::string(value.word)};
}

Frame random_frame(const MessageEntry& message, Random& random) {
  Frame frame;
  frame.id = message.id;
  frame.bus = message.bus;
  // Shorter and longer than the map says: fields beyond the end are skipped.
  frame.length = static_cast<std::uint8_t>(
      below(random, 3) == 0 ? below(random, 65) : static_cast<std::uint64_t>(*message.length));
  for (std::size_t i = 0; i < frame.length; ++i) {
    frame.payload[i] = static_cast<std::uint8_t>(below(random, 4) == 0 ? 0xFF : random());
  }
  // Often a page that exists.
  if (!message.selectors.empty() && below(random, 2) == 0) {
    const Span& span = message.selectors[0].span;
    if (span.last_byte() < frame.length) insert(span, below(random, 4), frame.payload);
  }
  return frame;
}

}  // namespace

TEST_CASE("the decoder agrees with the slow one on random maps and frames") {
  std::size_t values = 0;
  for (std::uint64_t seed = 1; seed <= 6'000; ++seed) {
    CAPTURE(seed);
    Random random(seed);
    const SignalMap map = random_map(random);
    Decoder decoder(map);
    for (int i = 0; i < 20 && !map.messages.empty(); ++i) {
      const Frame frame = random_frame(map.messages[below(random, map.messages.size())], random);
      std::vector<SlowValue> fast;
      for (const DecodedValue& value : decoder.decode(frame)) fast.push_back(plain(decoder, value));
      std::vector<SlowValue> slow = slow_decode(map, frame);
      std::ranges::sort(fast, {}, &SlowValue::signal);
      std::ranges::sort(slow, {}, &SlowValue::signal);
      REQUIRE(fast == slow);
      values += fast.size();
    }
  }
  CHECK(values > 50'000);
}

TEST_CASE("remote and error frames, and identifiers that the map does not have, have no values") {
  SignalMap map;
  MessageEntry message;
  message.id = CanId::standard(0x1A4);
  SignalEntry entry;
  entry.name = "a";
  entry.span = *parse_span("0.7..0.0");
  message.signals.push_back(entry);
  map.messages.push_back(message);
  Decoder decoder(map);
  Frame frame;
  frame.id = message.id;
  frame.length = 8;
  CHECK(decoder.decode(frame).size() == 1);
  frame.length = 0;
  CHECK(decoder.decode(frame).empty());
  frame.length = 8;
  frame.id.raw = message.id.raw | CanId::remote_flag;
  CHECK(decoder.decode(frame).empty());
  frame.id.raw = message.id.raw | CanId::error_flag;
  CHECK(decoder.decode(frame).empty());
  frame.id = CanId::extended(0x1A4);
  CHECK(decoder.decode(frame).empty());
  frame.id = message.id;
  frame.bus = 1;
  CHECK(decoder.decode(frame).empty());
}
