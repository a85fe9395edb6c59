#include "tests/page/sample_page.h"

#include <array>
#include <cmath>
#include <random>

#include "decoder/analysis/survey.h"

namespace foundling::test {
namespace {

constexpr std::int64_t second = 1'000'000'000;
constexpr std::int64_t end_ns = sample_seconds * second;

MessageSeries message(std::uint32_t id, std::int64_t period_ns) {
  MessageSeries series;
  series.id = CanId::standard(id);
  series.length = 8;
  for (std::int64_t t = 0; t < end_ns; t += period_ns) series.t_ns.push_back(t);
  series.bytes.assign(series.size() * 8, 0);
  return series;
}

std::span<std::uint8_t> row(MessageSeries& series, std::size_t i) {
  return {series.bytes.data() + i * 8, 8};
}

// Bytes 0 and 1: a current in steps of 0.5 A; byte 4: moves, and nobody knows why; 6.3..6.0 counts.
MessageSeries currents() {
  MessageSeries series = message(0x1A4, second / 10);
  std::mt19937 random(7);
  for (std::size_t i = 0; i < series.size(); ++i) {
    const auto payload = row(series, i);
    const int raw = i < series.size() / 2 ? 21 : -40;
    insert(*parse_span("0.7..1.0"), static_cast<std::uint16_t>(raw), payload);
    payload[4] = static_cast<std::uint8_t>(random());
    payload[6] = static_cast<std::uint8_t>(i % 16);
    payload[7] = i % 100 < 50 ? 0 : 1;
  }
  return series;
}

// Two pages of two cells; one cell more and more behind the others.
MessageSeries cells() {
  MessageSeries series = message(0x1B0, second / 5);
  for (std::size_t i = 0; i < series.size(); ++i) {
    const auto payload = row(series, i);
    payload[0] = static_cast<std::uint8_t>(i % 2);
    const auto raw = static_cast<std::uint64_t>(3300 + 50 * std::sin(static_cast<double>(i) / 40) -
                                                static_cast<double>(i % 2 * i) / 5);
    insert(*parse_span("2.7..1.0"), raw, payload);
    // A start-up code that no map names.
    insert(*parse_span("4.7..3.0"), i < 10 ? 0xFFFF : 3310 + i / 20 % 4, payload);
  }
  return series;
}

SignalEntry signal(const std::string& name, const char* span, double scale, const char* unit) {
  SignalEntry entry;
  entry.name = name;
  entry.span = *parse_span(span);
  entry.scale = scale;
  entry.unit = unit;
  return entry;
}

SignalMap sample_map() {
  SignalMap map;
  MessageEntry& first = map.messages.emplace_back();
  first.id = CanId::standard(0x1A4);
  first.counters.push_back({*parse_span("6.3..6.0"), 16, 1});
  first.signals.push_back(signal(script_name, "0.7..1.0", 0.5, "A"));
  first.signals.back().encoding = Encoding::signed_integer;
  first.signals.back().notes = {closing_name};
  first.signals.push_back(signal(closing_name, "7.0", 1, ""));
  first.signals.back().states = {{0, quoting_name}, {1, "<b>bold</b>"}};
  MessageEntry& second_message = map.messages.emplace_back();
  second_message.id = CanId::standard(0x1B0);
  second_message.selectors.push_back({"page", *parse_span("0.7..0.0"), {{0, 1}}});
  int number = 0;
  for (std::int64_t page = 0; page < 2; ++page) {
    for (const char* span : {"2.7..1.0", "4.7..3.0"}) {
      SignalEntry entry = signal("cell_0" + std::to_string(++number), span, 0.001, "V");
      PageOf on{"page", {}};
      on.value.base = page;
      on.value.times = 0;
      entry.page = on;
      second_message.signals.push_back(entry);
    }
  }
  return map;
}

std::vector<ChannelSeries> sample_channels() {
  std::vector<ChannelSeries> all;
  ChannelSeries& current = all.emplace_back();
  current.channel = {script_name, "A", ChannelKind::hold};
  for (int i = 0; i < 10; ++i) {
    Reading reading;
    reading.t_ns = i * 10 * second;
    reading.value = (i < 5 ? 10.4 : -20.1) + 0.01 * i;
    current.readings.push_back(reading);
  }
  ChannelSeries& state = all.emplace_back();
  state.channel = {closing_name, "state", ChannelKind::hold};
  for (int i = 0; i < 20; ++i) {
    Reading reading;
    reading.t_ns = i * 5 * second;
    reading.state = i % 2 == 0 ? quoting_name : "<b>bold</b>";
    state.readings.push_back(reading);
  }
  ChannelSeries& cell = all.emplace_back();
  cell.channel = {"cell_01", "V", ChannelKind::sample};
  for (int i = 0; i < 3000; ++i) {
    Reading reading;
    reading.t_ns = i * (end_ns / 3000);
    reading.value = 3.3 + 0.05 * std::sin(static_cast<double>(i) / 240);
    cell.readings.push_back(reading);
  }
  return all;
}

Proposal proposal(const std::string& channel, const char* unit, const char* span) {
  Proposal p;
  p.channel = channel;
  p.unit = unit;
  p.place = {0, CanId::standard(0x1A4), {}, *parse_span(span)};
  p.levels = 10;
  p.chance = 0.005;
  p.delay_s = 0.12;
  return p;
}

Correlation sample_findings() {
  Correlation found;
  Proposal& strong = found.proposals.emplace_back(proposal(script_name, "A", "0.7..1.0"));
  strong.is_signed = true;
  strong.scale = 0.5;
  strong.scale_fitted = 0.4981;
  strong.scale_interval = {0.497, 0.499};
  strong.offset_fitted = 0.02;
  strong.offset_interval = {-0.1, 0.14};
  strong.verdict = Verdict::strong;
  Proposal& ambiguous = found.proposals.emplace_back(proposal(quoting_name, "A", "4.7..4.0"));
  ambiguous.verdict = Verdict::ambiguous;
  ambiguous.ambiguous_with = {closing_name};
  Unanswered& open = found.unanswered.emplace_back();
  open.channel = closing_name;
  open.reason = "moved together with " + script_name;
  open.nearest = {{0, CanId::standard(0x1A4), {}, *parse_span("7.0")}, 2, 1};
  open.advice = "switch it by itself";
  UnfitReading slip;
  slip.reading = 97;
  slip.channel = script_name;
  slip.unit = "A";
  slip.t_ns = 20 * second;
  slip.value = 104.2;
  slip.expected = 10.5;
  slip.kind = Slip::factor_10;
  found.unfit_readings.push_back(slip);
  found.advice = {"Move " + script_name + " by itself.", quoting_name};
  return found;
}

}  // namespace

SamplePage::SamplePage()
    : messages{currents(), cells()},
      channels(sample_channels()),
      survey(foundling::survey(messages)),
      map(sample_map()),
      correlation(sample_findings()) {}

PageInput SamplePage::input() const {
  PageInput input;
  input.title = "A page of " + script_name;
  input.source.capture = closing_name + ".capture";
  input.source.pack = quoting_name;
  input.source.note = "invented";
  input.source.bit_rate = 500'000;
  input.source.to_ns = end_ns;
  input.messages = messages;
  input.channels = channels;
  input.survey = &survey;
  input.map = &map;
  input.map_name = script_name + ".signals";
  input.correlation = &correlation;
  input.lost = {{60 * second, 63 * second, 0, 17, closing_name}};
  input.incidents = {{61 * second, 0, "error-frame", script_name}};
  PageCheck& check = input.check.emplace();
  check.capture = quoting_name;
  SignalCheck passed;
  passed.signal = passed.channel = script_name;
  passed.unit = "A";
  passed.samples = 10;
  passed.largest = 0.1;
  passed.tolerance = 1.2;
  passed.pass = true;
  SignalCheck failed = passed;
  failed.signal = "cell_01";
  failed.pass = false;
  failed.reason = closing_name;
  check.check.signals = {passed, failed};
  check.check.channels_unchecked = {quoting_name};
  PageAgainst& other = input.against.emplace();
  other.capture = closing_name;
  other.session = 2;
  other.result.messages = 3;
  other.result.alike = 1;
  Difference gone;
  gone.kind = DifferenceKind::only_in_one;
  gone.side = Side::b;
  gone.id = CanId::extended(0x18FF50E5);
  Difference slower;
  slower.kind = DifferenceKind::period;
  slower.id = CanId::standard(0x1A4);
  slower.a = 0.1;
  slower.b = 0.2;
  slower.chance = 2e-6;
  Difference reset;
  reset.kind = DifferenceKind::reset;
  reset.side = Side::b;
  reset.from_s = 12;
  other.result.differences = {reset, slower, gone};
  return input;
}

}  // namespace foundling::test
