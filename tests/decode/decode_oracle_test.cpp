// The decoder against the slow one, on random maps and random frames.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstring>
#include <string>
#include <vector>

#include "decoder/decode/decode.h"
#include "schemas/values/payload_id.h"
#include "tests/decode/slow_decoder.h"
#include "tests/signals/random_edit.h"
#include "tests/signals/random_map.h"
#include "tests/transport/segment_writer.h"

using namespace foundling;

namespace {

SlowValue plain(const Decoder& decoder, const DecodedValue& value) {
  const std::string& name = decoder.fields()[value.field].name;
  if (value.kind == ValueKind::number) return {name, true, value.number, {}};
  if (value.kind == ValueKind::code) return {name, false, 0, "code " + std::to_string(value.raw)};
  return {name, false, 0, std::string(value.word)};
}

std::vector<std::uint8_t> random_payload(const MessageEntry& message, Random& random) {
  // Shorter and longer than the map says: fields beyond the end are skipped.
  const auto stated = static_cast<std::uint64_t>(*message.length);
  const std::uint64_t most = is_payload(message.id) ? 256 : 65;
  std::vector<std::uint8_t> payload(below(random, 3) == 0 ? below(random, most) : stated);
  for (std::uint8_t& byte : payload) {
    byte = static_cast<std::uint8_t>(below(random, 4) == 0 ? 0xFF : random());
  }
  // Often a page that exists.
  if (!message.selectors.empty() && below(random, 2) == 0) {
    const Span& span = message.selectors[0].span;
    if (static_cast<std::size_t>(span.last_byte()) < payload.size()) {
      insert(span, below(random, 4), payload);
    }
  }
  return payload;
}

// As the decoder reads it: a frame, a payload that was put together, or the frames that carry it.
std::vector<SlowValue> decode_any(Decoder& decoder, const MessageEntry& message,
                                  std::span<const std::uint8_t> payload, bool in_segments) {
  std::vector<SlowValue> values;
  const auto take = [&](CanId id, std::int64_t t_ns, std::span<const std::uint8_t> bytes) {
    for (const DecodedValue& value : decoder.decode(message.bus, id, t_ns, bytes)) {
      values.push_back(plain(decoder, value));
    }
  };
  if (!is_payload(message.id) || !in_segments || payload.empty()) {
    take(message.id, 0, payload);
    return values;
  }
  test::SegmentForm form;
  if (transport_of(message.id).kind == Transport::Kind::addressed_segments) {
    form.address = transport_of(message.id).address;
  }
  std::int64_t t_ns = 0;
  for (const test::Bytes& frame : test::segments_of(payload, form)) {
    take(frames_of(message.id), t_ns += 1'000'000, frame);
  }
  return values;
}

}  // namespace

TEST_CASE("the decoder agrees with the slow one on random maps and frames") {
  std::size_t values = 0;
  for (std::uint64_t seed = 1; seed <= random_cases(4'000); ++seed) {
    CAPTURE(seed);
    Random random(seed);
    const SignalMap map = random_map(random);
    Decoder decoder(map);
    for (int i = 0; i < 20 && !map.messages.empty(); ++i) {
      const MessageEntry& message = map.messages[below(random, map.messages.size())];
      const auto payload = random_payload(message, random);
      std::vector<SlowValue> fast = decode_any(decoder, message, payload, i % 2 == 0);
      std::vector<SlowValue> slow = slow_decode(map, message.bus, message.id, payload);
      std::ranges::sort(fast, {}, &SlowValue::signal);
      std::ranges::sort(slow, {}, &SlowValue::signal);
      REQUIRE(fast == slow);
      values += fast.size();
    }
  }
  CHECK(values > 8 * random_cases(4'000));
}

namespace {

// One message of that many bytes with each span as a signal, named by its place.
SignalMap map_of_spans(const std::vector<Span>& spans, Encoding encoding, int bytes) {
  MessageEntry message;
  message.id = CanId::standard(0x1A4);
  message.length = bytes;
  for (const Span& span : spans) {
    SignalEntry entry;
    entry.name = to_string(span);
    entry.span = span;
    entry.encoding = encoding;
    message.signals.push_back(entry);
  }
  SignalMap map;
  map.messages.push_back(message);
  return map;
}

// All pairs of ends within so many bytes that are a span of at most 64 bits.
std::vector<Span> all_spans(int bytes) {
  std::vector<Span> spans;
  for (int high = 0; high < bytes * 8; ++high) {
    for (int low = 0; low < bytes * 8; ++low) {
      const auto at = [](int place) {
        return std::to_string(place / 8) + '.' + std::to_string(place % 8);
      };
      const auto span = parse_span(at(high) + ".." + at(low));
      if (span && span->width() <= 64) spans.push_back(*span);
    }
  }
  return spans;
}

void require_same(Decoder& decoder, const SignalMap& map, const Frame& frame) {
  std::vector<SlowValue> fast;
  for (const DecodedValue& value : decoder.decode(frame)) fast.push_back(plain(decoder, value));
  REQUIRE(fast == slow_decode(map, frame));
}

}  // namespace

TEST_CASE("every span in nine bytes, of every width and order, decodes as it does bit by bit") {
  const std::vector<Span> spans = all_spans(9);
  std::vector<bool> widths(65);
  for (const Span& span : spans) widths[static_cast<std::size_t>(span.width())] = true;
  CHECK(std::count(widths.begin() + 1, widths.end(), true) == 64);
  for (const Encoding encoding : {Encoding::unsigned_integer, Encoding::signed_integer}) {
    const SignalMap map = map_of_spans(spans, encoding, 9);
    Decoder decoder(map);
    Random random(1);
    for (int i = 0; i < 12; ++i) {
      Frame frame;
      frame.id = map.messages[0].id;
      frame.length = i < 3 ? 9 : static_cast<std::uint8_t>(i - 1);  // also too short for many
      for (std::uint8_t& byte : frame.payload) {
        byte = i == 0 ? 0xFF : i == 1 ? 0 : static_cast<std::uint8_t>(random());
      }
      require_same(decoder, map, frame);
    }
  }
}

TEST_CASE("floats of 32 and 64 bits read at any bit and in both orders as the number put there") {
  const std::vector<double> numbers{
      0, -0.0, 1, -1, 3.3125, 1e-30, 65504, 1e30, 0x1p-149, 0x1.fffffep127, -273.15F};
  for (const int width : {32, 64}) {
    for (int place = 0; place + width <= 12 * 8; ++place) {
      for (const bool big : {false, true}) {
        const auto end = [big](int at) {
          return BitPosition{static_cast<std::uint8_t>(at / 8),
                             static_cast<std::uint8_t>(big ? 7 - at % 8 : at % 8)};
        };
        const Span span = big ? Span{end(place), end(place + width - 1)}
                              : Span{end(place + width - 1), end(place)};
        const SignalMap map = map_of_spans({span}, Encoding::ieee_float, 12);
        Decoder decoder(map);
        for (const double number : numbers) {
          const auto narrow = static_cast<float>(number);
          std::uint64_t bits = 0;
          if (width == 32) std::memcpy(&bits, &narrow, sizeof narrow);
          if (width == 64) std::memcpy(&bits, &number, sizeof number);
          Frame frame;
          frame.id = map.messages[0].id;
          frame.length = 12;
          // Bit i counts from the least significant; a big-endian field ends with it.
          for (int i = 0; i < width; ++i) {
            const BitPosition at = end(big ? place + width - 1 - i : place + i);
            frame.payload[at.byte] |= static_cast<std::uint8_t>(((bits >> i) & 1U) << at.bit);
          }
          const auto values = decoder.decode(frame);
          REQUIRE(values.size() == 1);
          REQUIRE(values[0].number == (width == 32 ? static_cast<double>(narrow) : number));
        }
      }
    }
  }
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
