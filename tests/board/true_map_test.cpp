// The true map in captures_demo/ against the board: every frame is decoded as the map says, by a
// slow and independent walk over single bits, and compared with what was truly at the terminals.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <optional>
#include <set>
#include <sstream>

#include "schemas/signals/format.h"
#include "schemas/signals/read.h"
#include "tools/board/bench_channels.h"
#include "tools/board/measurement.h"
#include "tools/board/session.h"

namespace foundling::board {
namespace {

std::string map_text() {
  std::ifstream file(FOUNDLING_SOURCE_DIR "/captures_demo/tractor.signals");
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

SignalMap true_map() { return read_signals(map_text()).map; }

// A field by the words of the convention: from the most significant bit go down within the byte,
// then on to bit 7 of the neighbouring byte in the direction of the least significant bit.
double slow_raw(const Frame& frame, const Span& span, bool is_signed) {
  int byte = span.msb.byte;
  int bit = span.msb.bit;
  const int direction = span.lsb.byte > span.msb.byte ? 1 : -1;
  double value = 0;
  bool first = true;
  while (true) {
    const bool set = ((frame.payload[static_cast<std::size_t>(byte)] >> bit) & 1) != 0;
    value = 2 * value + (set ? (first && is_signed ? -1 : 1) : 0);
    first = false;
    if (byte == span.lsb.byte && bit == span.lsb.bit) return value;
    if (--bit < 0) {
      bit = 7;
      byte += direction;
    }
  }
}

// One signal of the map, members of a series singly.
struct Wanted {
  std::string name;
  CanId id;
  std::optional<std::pair<Span, std::int64_t>> page;
  Span span;
  SignalEntry entry;
};

std::string member_name(const SignalEntry& entry, std::int64_t n) {
  std::string number = std::to_string(n);
  const auto digits = static_cast<std::size_t>(entry.numbers->digits);
  if (number.size() < digits) number.insert(0, digits - number.size(), '0');
  return entry.name + '_' + number;
}

std::vector<Wanted> all_signals(const SignalMap& map) {
  std::vector<Wanted> all;
  for (const MessageEntry& message : map.messages) {
    for (const SignalEntry& entry : message.signals) {
      const std::int64_t first = entry.numbers ? entry.numbers->first : 1;
      const std::int64_t last = entry.numbers ? entry.numbers->last : 1;
      for (std::int64_t n = first; n <= last; ++n) {
        Wanted wanted{
            entry.numbers ? member_name(entry, n) : entry.name, message.id, {}, entry.span, entry};
        if (entry.page) {
          wanted.page = std::pair(message.selectors.front().span, entry.page->value.at(n));
        }
        if (entry.step) wanted.span = *moved(entry.span, entry.step->bits.at(n), entry.step->big);
        all.push_back(wanted);
      }
    }
  }
  return all;
}

struct Session {
  BenchPlan plan;
  BenchSession session;
};
const Session& played() {
  static const Session once = [] {
    const SessionOptions options = session_options(2, true);
    return Session{make_plan(options.plan), run_session(options)};
  }();
  return once;
}

// The truth at a terminal, and for how long it had been so.
struct Truth {
  double value = 0;
  double age_s = 0;
};
Truth truth_at(Input input, std::int64_t t_ns) {
  Truth truth;
  for (const Setting& setting : played().plan.settings) {
    if (setting.input != input || setting.applied_ns > t_ns) continue;
    truth = {setting.value, static_cast<double>(t_ns - setting.applied_ns) * 1e-9};
  }
  return truth;
}

bool on_page(const Wanted& wanted, const Frame& frame) {
  return !wanted.page ||
         slow_raw(frame, wanted.page->first, false) == static_cast<double>(wanted.page->second);
}

double physical(const Wanted& wanted, const Frame& frame) {
  const bool is_signed = wanted.entry.encoding == Encoding::signed_integer;
  return slow_raw(frame, wanted.span, is_signed) * wanted.entry.scale + wanted.entry.offset;
}

// Frames of a signal after the self-test.
std::vector<Frame> frames_of(const Wanted& wanted) {
  std::vector<Frame> some;
  for (const Frame& frame : played().session.frames) {
    const bool late = frame.t_ns > 2'600'000'000;
    if (frame.id == wanted.id && late && on_page(wanted, frame)) some.push_back(frame);
  }
  return some;
}

// How far a settled value may be off: half a step, the board's own errors, six deviations of noise,
// what is left of the largest step after the settling time.
double allowance(const Wanted& wanted, Input input, double value, double settling_s) {
  const Sensor sensor = sensor_of(input);
  const double time_constant = sensor.time_constant_s + wanted.entry.time_constant_s;
  const double rest = 900 * std::exp(-settling_s / time_constant) * settling_s / time_constant;
  return 0.51 * wanted.entry.scale + sensor.gain_bound * std::abs(value) + sensor.offset_bound +
         6 * sensor.noise + rest;
}

int check_analog(const Wanted& wanted, Input input, double extra_settling_s) {
  const Sensor sensor = sensor_of(input);
  const double scan_s = sensor.scan_ticks * static_cast<double>(tick_ns) * 1e-9;
  const double settling_s = 12 * (sensor.time_constant_s + extra_settling_s);
  int checked = 0;
  for (const Frame& frame : frames_of(wanted)) {
    const Truth truth = truth_at(input, frame.t_ns);
    if (truth.age_s < settling_s + scan_s + 0.05) continue;
    ++checked;
    const double off = std::abs(physical(wanted, frame) - truth.value);
    if (off > allowance(wanted, input, truth.value, settling_s)) {
      FAIL_CHECK(wanted.name << " off by " << off << " at " << frame.t_ns);
    }
  }
  return checked;
}

int check_switch(const Wanted& wanted, Input input, const SwitchChannel& channel) {
  int checked = 0;
  for (const Frame& frame : frames_of(wanted)) {
    const Truth truth = truth_at(input, frame.t_ns);
    if (truth.age_s < 0.1) continue;
    ++checked;
    const double raw = slow_raw(frame, wanted.span, false);
    const auto state = std::find_if(
        wanted.entry.states.begin(), wanted.entry.states.end(),
        [raw](const StateWord& word) { return static_cast<double>(word.code) == raw; });
    REQUIRE(state != wanted.entry.states.end());
    CHECK(state->word == channel.words[static_cast<std::size_t>(truth.value)]);
  }
  return checked;
}

// A whole round of pages since any cell changed.
bool cells_settled(std::int64_t t_ns) {
  for (std::size_t i = 0; i < cell_count; ++i) {
    const auto input = static_cast<Input>(index(Input::first_cell) + i);
    if (truth_at(input, t_ns).age_s < 1.5) return false;
  }
  return true;
}

const Wanted* find(const std::vector<Wanted>& all, std::string_view name) {
  const auto found =
      std::find_if(all.begin(), all.end(), [name](const Wanted& w) { return w.name == name; });
  return found == all.end() ? nullptr : &*found;
}

}  // namespace

TEST_CASE("the true map parses without a word and is laid out as the formatter would") {
  const std::string text = map_text();
  const SignalText read = read_signals(text);
  CHECK_MESSAGE(read.diagnostics.empty(), describe(read.diagnostics, "tractor.signals", text));
  CHECK(format(read.document) == text);
}

TEST_CASE("the true map says that it is invented") {
  CHECK(true_map().board.find("(invented)") != std::string::npos);
}

TEST_CASE("every channel of the bench is a signal of the true map with the same unit") {
  const auto all = all_signals(true_map());
  for (const Channel& channel : bench_channels()) {
    CAPTURE(channel.name);
    const Wanted* wanted = find(all, channel.name);
    REQUIRE(wanted != nullptr);
    if (!channel.is_state()) CHECK(wanted->entry.unit == channel.unit);
  }
}

TEST_CASE("every settled frame says what was at the terminals, decoded as the true map says") {
  const auto all = all_signals(true_map());
  for (const AnalogChannel& channel : analog_channels()) {
    CAPTURE(channel.name);
    const Wanted* wanted = find(all, channel.name);
    REQUIRE(wanted != nullptr);
    CHECK(check_analog(*wanted, channel.input, 0) > 10);
  }
  for (std::size_t i = 0; i < cell_count; ++i) {
    CAPTURE(i);
    const Wanted* wanted = find(all, cell_name(i));
    REQUIRE(wanted != nullptr);
    CHECK(check_analog(*wanted, static_cast<Input>(index(Input::first_cell) + i), 0) > 50);
  }
  const Wanted* slow = find(all, "pack_current_slow");
  REQUIRE(slow != nullptr);
  // The noise is filtered too, so six deviations are more than enough.
  CHECK(check_analog(*slow, Input::pack_current, 0.2) >= 0);
}

TEST_CASE("every switch is said with the word of the true map") {
  const auto all = all_signals(true_map());
  for (const SwitchChannel& channel : switch_channels()) {
    CAPTURE(channel.name);
    const Wanted* wanted = find(all, channel.name);
    REQUIRE(wanted != nullptr);
    CHECK(check_switch(*wanted, channel.input, channel) > 50);
  }
}

TEST_CASE("messages, lengths and periods are those of the true map") {
  const SignalMap map = true_map();
  for (const MessageEntry& message : map.messages) {
    CAPTURE(message.id.number());
    std::set<int> lengths;
    for (const Frame& frame : played().session.frames) {
      if (frame.id == message.id) lengths.insert(frame.length);
    }
    CHECK(lengths == std::set<int>{*message.length});
    for (const MessagePlan& plan : periodic_messages()) {
      if (plan.id == message.id) CHECK(message.period_ns == plan.period_ms * 1'000'000LL);
    }
  }
  CHECK(map.messages.size() == periodic_messages().size() + 1);
  CHECK(map.bit_rate == bus_bit_rate);
}

TEST_CASE("lowest, highest, mean and sum are those of the cells that the same board reports") {
  const auto all = all_signals(true_map());
  std::map<std::string, double> cells;
  int checked = 0;
  for (const Frame& frame : played().session.frames) {
    for (std::size_t i = 0; i < cell_count && frame.id == CanId::standard(0x1B0); ++i) {
      const Wanted* cell = find(all, cell_name(i));
      if (on_page(*cell, frame)) cells[cell->name] = physical(*cell, frame);
    }
    if (frame.id != CanId::extended(0x18FF51E5) || frame.t_ns < 4'000'000'000 ||
        !cells_settled(frame.t_ns)) {
      continue;
    }
    double lowest = 9;
    double highest = 0;
    double sum = 0;
    for (const auto& [name, volts] : cells) {
      lowest = std::min(lowest, volts);
      highest = std::max(highest, volts);
      sum += volts;
    }
    ++checked;
    // Each from another scan: noise of 0.9 mV.
    CHECK(std::abs(physical(*find(all, "cell_lowest"), frame) - lowest) < 0.008);
    CHECK(std::abs(physical(*find(all, "cell_highest"), frame) - highest) < 0.008);
    CHECK(std::abs(physical(*find(all, "cell_mean"), frame) - sum / 28) < 0.003);
  }
  CHECK(checked > 10);
}

}  // namespace foundling::board
