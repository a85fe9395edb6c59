// Values a second in memory (at least 5 million a core wanted), beside a bare loop that sums the
// same bytes and the slowest reading of fields, bit by bit.
#include <benchmark/benchmark.h>

#include <array>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "decoder/decode/decode.h"
#include "schemas/signals/read.h"

namespace {

using namespace foundling;

SignalMap demo_map() {
  std::ifstream file(FOUNDLING_SOURCE_DIR "/captures_demo/tractor.signals");
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  return read_signals(text).map;
}

// Frames of all messages in turn, with pages that go round.
std::vector<Frame> frames_of(const SignalMap& map) {
  std::vector<Frame> frames;
  for (std::uint8_t i = 0; i < 200; ++i) {
    for (const MessageEntry& message : map.messages) {
      Frame frame;
      frame.id = message.id;
      frame.length = static_cast<std::uint8_t>(message.length.value_or(8));
      for (std::size_t b = 0; b < frame.length; ++b) {
        frame.payload[b] = static_cast<std::uint8_t>(i * 31 + b * 7);
      }
      for (const Selector& selector : message.selectors) {
        insert(selector.span, i % 10U, frame.payload);
      }
      frames.push_back(frame);
    }
  }
  return frames;
}

void decode_frames(benchmark::State& state) {
  const SignalMap map = demo_map();
  const std::vector<Frame> frames = frames_of(map);
  Decoder decoder(map);
  std::int64_t values = 0;
  for (auto _ : state) {
    for (const Frame& frame : frames) {
      const auto decoded = decoder.decode(frame);
      values += static_cast<std::int64_t>(decoded.size());
      benchmark::DoNotOptimize(decoded.data());
    }
  }
  state.SetItemsProcessed(values);
}
BENCHMARK(decode_frames);

void touch_bytes(benchmark::State& state) {
  const std::vector<Frame> frames = frames_of(demo_map());
  for (auto _ : state) {
    std::uint64_t sum = 0;
    for (const Frame& frame : frames) {
      for (const std::uint8_t byte : frame.bytes()) sum += byte;
    }
    benchmark::DoNotOptimize(sum);
  }
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(frames.size()));
}
BENCHMARK(touch_bytes);

}  // namespace
