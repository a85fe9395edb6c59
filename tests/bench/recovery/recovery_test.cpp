// The bench's own tests: boards are deterministic, their truth agrees with their frames, and the
// scorer gives full marks to the truth and none to silence.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "tests/bench/recovery/check_codes.h"
#include "tests/bench/recovery/perfect_answer.h"
#include "tests/bench/recovery/place.h"
#include "tests/bench/recovery/score.h"
#include "tests/bench/recovery/shared_boards.h"

using namespace foundling;
using namespace foundling::recovery;

namespace {

std::vector<std::uint8_t> ascii_digits() { return {'1', '2', '3', '4', '5', '6', '7', '8', '9'}; }

constexpr double clock_slack = 0.2;  // what the stimulus clock may drift to either side

// The value of a hold channel at a time; nothing within `settle` after a change, nor just ahead of
// the next one, which may have been written down a moment late.
const Reading* settled_reading(const std::vector<Reading>& readings, double t, double settle) {
  const auto seconds = [](const Reading& reading) {
    return static_cast<double>(reading.t_ns) * 1e-9;
  };
  const auto next = std::find_if(readings.begin(), readings.end(),
                                 [&](const Reading& reading) { return seconds(reading) > t; });
  if (next == readings.begin()) return nullptr;
  if (next != readings.end() && seconds(*next) < t + 0.06 + clock_slack) return nullptr;
  const Reading& held = *(next - 1);
  const bool from_the_start = &held == readings.data();
  return from_the_start || seconds(held) + settle + clock_slack < t ? &held : nullptr;
}

struct Residuals {
  int frames = 0;
  int outside = 0;
};

// Decodes with the true line and compares with the readings, within six standard deviations of all
// that is random plus the rounding of half an LSB (a whole one after truncation).
Residuals compare(const RandomBoard& board, const TrueChannel& channel, const TrueField& field) {
  const std::vector<Reading>& readings = channel.honest;
  const MessageSeries& message = *find_message(board.messages, field.bus, field.id);
  const double settle = field.delay_s * 2 + 0.8 + 12 * field.time_constant_s;
  const double allowed = 6 * std::hypot(field.noise, channel.uncertainty) +
                         0.51 * field.scale * (field.is_float ? 0 : 1) +
                         2e-4 * (channel.high - channel.low);
  Residuals result;
  for (const std::size_t i : rows_of(message, page_of(field))) {
    const double t = static_cast<double>(message.t_ns[i]) * 1e-9;
    if (!field.is_ordinary(t)) continue;
    const Reading* reading = settled_reading(readings, t - channel.clock_offset_s, settle);
    if (reading == nullptr) continue;
    // The limits are in the board's own reading, off by its gain and zero errors.
    const double near = allowed + 0.004 * std::abs(reading->value) + 2 * field.resolution();
    if (field.saturates_below < field.saturates_above &&
        (reading->value < field.saturates_below + near ||
         reading->value > field.saturates_above - near)) {
      continue;
    }
    const std::uint64_t raw = extract(field.span, message.row(i));
    ++result.frames;
    if (!field.states.empty()) {
      const auto word = field.states.find(raw);
      result.outside += word == field.states.end() || word->second != reading->state ? 1 : 0;
      continue;
    }
    if (field.is_curved()) {  // in codes: noise and rounding are the converter's
      const double expected = code_of(field.curve, reading->value);
      const double aside = code_of(field.curve, reading->value + 6 * channel.uncertainty +
                                                    2e-4 * (channel.high - channel.low));
      const double off = std::abs(static_cast<double>(raw) - expected);
      const double noise = 6 * field.noise / field.scale + 0.51;
      result.outside += off > noise + 1.5 * std::abs(aside - expected) ? 1 : 0;
      continue;
    }
    const double value =
        raw_value(raw, field.span.width(), field.is_signed, field.is_float) * field.line_scale +
        field.line_offset;
    result.outside += std::abs(value - reading->value) > allowed ? 1 : 0;
  }
  return result;
}

struct Plateau {
  double x = 0;  // the reading
  double raw = 0;
  int frames = 0;
};

std::vector<Plateau> plateaus_of(const RandomBoard& board, const TrueChannel& channel,
                                 const TrueField& field) {
  const std::vector<Reading>& readings = channel.honest;
  const MessageSeries& message = *find_message(board.messages, field.bus, field.id);
  const double settle = field.delay_s * 2 + 0.8 + 12 * field.time_constant_s;
  std::map<const Reading*, Plateau> plateaus;
  for (const std::size_t i : rows_of(message, page_of(field))) {
    const double t = static_cast<double>(message.t_ns[i]) * 1e-9;
    if (!field.is_ordinary(t)) continue;
    const Reading* reading = settled_reading(readings, t - channel.clock_offset_s, settle);
    if (reading == nullptr) continue;
    Plateau& plateau = plateaus[reading];
    plateau.x = reading->value;
    plateau.raw += raw_value(extract(field.span, message.row(i)), field.span.width(),
                             field.is_signed, field.is_float);
    ++plateau.frames;
  }
  std::vector<Plateau> result;
  for (auto [reading, plateau] : plateaus) {
    plateau.raw /= plateau.frames;
    result.push_back(plateau);
  }
  return result;
}

// (fitted slope - true slope) / standard error; nothing with fewer than eight plateaus.
std::optional<double> slope_score(const RandomBoard& board, const TrueChannel& channel,
                                  const TrueField& field) {
  const std::vector<Plateau> plateaus = plateaus_of(board, channel, field);
  const auto n = static_cast<double>(plateaus.size());
  if (n < 8) return {};
  double mean_x = 0, mean_raw = 0, raw_raw = 0, raw_x = 0, rest = 0;
  for (const Plateau& p : plateaus) mean_x += p.x / n, mean_raw += p.raw / n;
  for (const Plateau& p : plateaus) {
    raw_raw += (p.raw - mean_raw) * (p.raw - mean_raw);
    raw_x += (p.raw - mean_raw) * (p.x - mean_x);
  }
  const double slope = raw_x / raw_raw;
  for (const Plateau& p : plateaus) {
    const double off = p.x - mean_x - slope * (p.raw - mean_raw);
    rest += off * off;
  }
  return (slope - field.line_scale) / std::sqrt(rest / (n - 2) / raw_raw);
}

}  // namespace

TEST_CASE("check codes give the published check values of the nine digits") {
  // G. Cook, Catalogue of parametrised CRC algorithms; AUTOSAR Specification of CRC Routines.
  const auto check = [](int width, std::uint32_t polynomial, std::uint32_t initial,
                        std::uint32_t final_xor, bool reflected) {
    CheckCode code;
    code.width = width;
    code.polynomial = polynomial;
    code.initial = initial;
    code.final_xor = final_xor;
    code.reflected = reflected;
    return crc(code, ascii_digits());
  };
  CHECK(check(8, 0x1D, 0xFF, 0xFF, false) == 0x4B);           // CRC-8/SAE-J1850
  CHECK(check(8, 0x1D, 0x00, 0x00, false) == 0x37);           // CRC-8/GSM-A
  CHECK(check(8, 0x2F, 0xFF, 0xFF, false) == 0xDF);           // CRC-8/AUTOSAR
  CHECK(check(8, 0x07, 0x00, 0x00, false) == 0xF4);           // CRC-8/SMBUS
  CHECK(check(8, 0x31, 0x00, 0x00, true) == 0xA1);            // CRC-8/MAXIM-DOW
  CHECK(check(16, 0x1021, 0xFFFF, 0x0000, false) == 0x29B1);  // CRC-16/IBM-3740
  CHECK(check(16, 0x8005, 0xFFFF, 0x0000, true) == 0x4B37);   // CRC-16/MODBUS
}

TEST_CASE("the J1939 message checksum follows the formula of SPN 4207") {
  // SAE J1939-71; the values were computed from the published formula.
  const std::vector<std::uint8_t> first{0x01, 0x00, 0x19, 0x7D, 0xFF, 0xFF, 0xFF, 0x07};
  const std::vector<std::uint8_t> second{0x09, 0xE0, 0x2E, 0x7D, 0x00, 0xFF, 0xFF, 0x03};
  CheckCode code;
  code.kind = "j1939";
  const Span place{{7, 6}, {7, 4}};
  CHECK(check_value(code, place, CanId::extended(0x0C000003), first) == 1);
  CHECK(check_value(code, place, CanId::extended(0x0C000011), second) == 2);
}

TEST_CASE("a hidden data ID ahead of the payload gives the end-to-end profile 1 examples") {
  // AUTOSAR E2E Protocol Specification, profile 1, data ID 0x0123, both bytes.
  CheckCode code;
  code.polynomial = 0x1D;
  code.hidden_prefix = {0x23, 0x01};
  const Span place{{0, 7}, {0, 0}};
  CHECK(check_value(code, place, CanId::standard(1), std::vector<std::uint8_t>(8, 0)) == 0xCC);
  CHECK(check_value(code, place, CanId::standard(1),
                    std::vector<std::uint8_t>{0, 1, 0, 0, 0, 0, 0, 0}) == 0x91);
}

TEST_CASE("the same family and seed make the same board") {
  for (const Family family : all_families()) {
    CAPTURE(name_of(family));
    const RandomBoard& a = board_of(family, 1);
    const RandomBoard b = make_board(family, 1);
    REQUIRE(a.messages.size() == b.messages.size());
    for (std::size_t m = 0; m < a.messages.size(); ++m) {
      CHECK(a.messages[m].t_ns == b.messages[m].t_ns);
      CHECK(a.messages[m].bytes == b.messages[m].bytes);
    }
    REQUIRE(a.channels.size() == b.channels.size());
    CHECK(a.channels.front().readings.back().value == b.channels.front().readings.back().value);
    CHECK(board_of(family, 2).messages.front().bytes != a.messages.front().bytes);
  }
}

TEST_CASE("boards have the size of a real bench session") {
  for (const Family family : all_families()) {
    for (std::uint64_t seed = 1; seed <= 2; ++seed) {
      CAPTURE(name_of(family));
      CAPTURE(seed);
      const RandomBoard& board = board_of(family, seed);
      std::size_t frames = 0;
      std::int64_t end = 0;
      for (const MessageSeries& message : board.messages) {
        frames += message.size();
        end = std::max(end, message.t_ns.back());
        CHECK(std::is_sorted(message.t_ns.begin(), message.t_ns.end()));
        CHECK(message.bytes.size() == message.size() * message.length);
      }
      CHECK(frames < 300000);
      CHECK(board.messages.size() >= 5);
      CHECK(board.messages.size() <= 40);
      CHECK(board.channels.size() >= 5);
      CHECK(board.channels.size() <= 50);
      CHECK(end > 60'000'000'000);
      CHECK(end < 1'200'000'000'000);
    }
  }
}

TEST_CASE("frames decoded with the true field give what was applied, within the stated noise") {
  for (const Family family : all_families()) {
    for (std::uint64_t seed = 1; seed <= 2; ++seed) {
      const RandomBoard& board = board_of(family, seed);
      for (std::size_t c = 0; c < board.channels.size(); ++c) {
        if (board.channels[c].channel.kind != ChannelKind::hold) continue;
        for (const TrueField& field : board.truth.channels[c].fields) {
          CAPTURE(name_of(family));
          CAPTURE(seed);
          CAPTURE(board.channels[c].channel.name);
          CAPTURE(describe(field));
          const Residuals residuals = compare(board, board.truth.channels[c], field);
          CHECK(residuals.frames > 0);
          CHECK(residuals.outside == 0);
        }
      }
    }
  }
}

TEST_CASE("the line through settled plateaus of the true field is the true line") {
  // A straight least-squares fit of readings on plateau means of the true raw values. Its slope
  // must scatter about the truth without bias: the yardstick for the analyser's intervals.
  double sum = 0, sum_of_squares = 0;
  int lines = 0;
  for (const Family family : all_families()) {
    for (std::uint64_t seed = 1; seed <= 2; ++seed) {
      const RandomBoard& board = board_of(family, seed);
      for (std::size_t c = 0; c < board.channels.size(); ++c) {
        const TrueChannel& channel = board.truth.channels[c];
        if (!channel.excited || board.channels[c].channel.kind != ChannelKind::hold) continue;
        const TrueField& field = channel.fields.front();
        if (field.is_curved() || !field.states.empty() ||
            field.saturates_below < field.saturates_above)
          continue;
        const auto score = slope_score(board, channel, field);
        if (!score) continue;
        ++lines;
        sum += *score;
        sum_of_squares += *score * *score;
      }
    }
  }
  REQUIRE(lines > 100);
  CAPTURE(lines);
  CAPTURE(sum / lines);
  CAPTURE(sum_of_squares / lines);
  CHECK(std::abs(sum / lines) < 3 / std::sqrt(lines) * 1.2);
  CHECK(sum_of_squares / lines < 2.0);
  CHECK(sum_of_squares / lines > 0.5);
}

TEST_CASE("counters and checks in the frames are what the truth says") {
  const RandomBoard& board = board_of(Family::plain_big, 2);
  for (const TrueMessage& truth : board.truth.messages) {
    const MessageSeries& message = *find_message(board.messages, truth.bus, truth.id);
    for (const TrueCounter& counter : truth.counters) {
      for (std::size_t i = 1; i < message.size(); ++i) {
        const std::uint64_t before = extract(counter.span, message.row(i - 1));
        CHECK(extract(counter.span, message.row(i)) ==
              (before + static_cast<std::uint64_t>(counter.step)) % counter.modulus);
      }
    }
  }
}

TEST_CASE("a sensor's curve and its inverse undo each other") {
  using Shape = SensorCurve::Shape;
  for (const Shape shape : {Shape::divider, Shape::resistance, Shape::reciprocal, Shape::root}) {
    const SensorCurve curve{shape, 4095, 3950, shape == Shape::divider ? 0.8 : 100.0, false};
    for (double value = 5; value < 60; value += 5) {
      CHECK(value_of(curve, code_of(curve, value)) == doctest::Approx(value).epsilon(1e-9));
    }
  }
  // At 25 C a divider with a fixed resistor as large as the thermistor is half way.
  CHECK(code_of({Shape::divider, 1000, 3435, 1, true}, 25) == doctest::Approx(500));
}

TEST_CASE("an answer made from the truth gets full marks") {
  for (const Family family : all_families()) {
    for (std::uint64_t seed = 1; seed <= 2; ++seed) {
      CAPTURE(name_of(family));
      CAPTURE(seed);
      const RandomBoard& board = board_of(family, seed);
      const BoardScore score = score_board(board, perfect_survey(board), perfect_answer(board));
      const Figures& f = score.figures;
      CHECK(score.misses == std::vector<std::string>{});
      if (family != Family::foreign) CHECK(f.found.of > 0);
      CHECK(f.found.good == f.found.of);
      CHECK(f.span.good == f.found.of);
      CHECK(f.scale_interval.good == f.scale_interval.of);
      CHECK(f.confounded.good == f.confounded.of);
      CHECK(f.silence.good == f.silence.of);
      CHECK(f.false_strong == 0);
      CHECK(f.right.good == f.found.of);
      CHECK(f.absent_strong.good == 0);
      CHECK(f.slips_named.good == f.slips_named.of);
      CHECK(f.slip_kinds.good == f.slip_kinds.of);
      CHECK(f.accused.good == 0);
      CHECK(f.unanswered.good == f.unanswered.of);
      CHECK(f.scale_ranks.total() == f.scale_interval.of);
      CHECK(f.offset_ranks.total() == f.offset_interval.of);
    }
  }
}

TEST_CASE("an empty answer finds nothing and claims nothing") {
  for (const Family family : all_families()) {
    const RandomBoard& board = board_of(family, 2);
    const BoardScore score = score_board(board, Survey{}, Correlation{});
    CHECK(score.figures.found.good == 0);
    if (family != Family::foreign) CHECK(score.figures.found.of > 0);
    CHECK(score.figures.counters.good == 0);
    CHECK(score.figures.confounded.good == 0);
    CHECK(score.figures.silence.good == score.figures.silence.of);
    CHECK(score.figures.false_strong == 0);
  }
}
