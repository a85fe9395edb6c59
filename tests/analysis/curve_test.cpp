// Fields that follow their channel along a curve: the parts of the search by hand, and the whole
// against a published thermistor table.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <random>
#include <set>

#include "decoder/analysis/correlate.h"
#include "decoder/analysis/curve_basis.h"
#include "decoder/analysis/curve_table.h"
#include "decoder/analysis/end_stops.h"
#include "decoder/analysis/monotone_curve.h"
#include "decoder/analysis/span_search.h"

using namespace foundling;

namespace {

constexpr std::int64_t second = 1'000'000'000;

RowSet rows_of(const std::vector<double>& x) {
  RowSet set;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const auto t = static_cast<std::int64_t>(i) * 10 * second;
    set.rows.push_back({t, t + 10 * second, x[i], 0, 0, static_cast<int>(i)});
  }
  return set;
}

struct Bench {
  std::vector<MessageSeries> messages;
  std::vector<ChannelSeries> channels;
};

// An invented board: in 0.7..1.0 what `code` makes of the channel, one LSB of noise; a counter in
// byte 7, a drift in byte 4, random bytes 5 and 6. Each level twice, in mixed order, 10 s long.
Bench bench_with(std::vector<double> levels, const std::function<double(double)>& code,
                 std::uint64_t seed = 1) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> noise(0, 1);
  levels.insert(levels.end(), levels.begin(), levels.end());
  std::shuffle(levels.begin(), levels.end(), random);
  Bench b;
  b.channels.push_back({{"temp", "°C", ChannelKind::hold}, {}});
  MessageSeries m;
  m.id = CanId::standard(0x2B0);
  m.length = 8;
  for (std::size_t i = 0; i < levels.size(); ++i) {
    const auto start = static_cast<std::int64_t>(i) * 10 * second;
    b.channels[0].readings.push_back({start, levels[i], 0.01, ""});
    for (int k = 0; k < 100; ++k) {
      m.t_ns.push_back(start + k * second / 10);
      std::vector<std::uint8_t> bytes(8, 0);
      insert(*parse_span("0.7..1.0"),
             static_cast<std::uint64_t>(std::max(0.0, std::round(code(levels[i]) + noise(random)))),
             bytes);
      bytes[4] = static_cast<std::uint8_t>(static_cast<double>(m.t_ns.size()) / 20);
      bytes[5] = static_cast<std::uint8_t>(random());
      bytes[6] = static_cast<std::uint8_t>(random());
      bytes[7] = static_cast<std::uint8_t>(m.t_ns.size());
      m.bytes.insert(m.bytes.end(), bytes.begin(), bytes.end());
    }
  }
  b.messages.push_back(std::move(m));
  return b;
}

Correlation answer(const Bench& b) { return correlate(b.messages, b.channels, survey(b.messages)); }

double value_at(const std::vector<CurvePoint>& table, double raw) {
  for (std::size_t i = 1; i < table.size(); ++i) {
    if (raw < table[i - 1].raw || raw > table[i].raw) continue;
    const double share = (raw - table[i - 1].raw) / (table[i].raw - table[i - 1].raw);
    return table[i - 1].value + share * (table[i].value - table[i - 1].value);
  }
  return std::nan("");
}

}  // namespace

TEST_CASE("a curve's basis is uncorrelated, has variance one, and explains every cubic whole") {
  std::mt19937_64 random(3);
  std::vector<double> x;
  std::vector<double> cubic;
  for (int i = 0; i < 40; ++i) {
    x.push_back(static_cast<double>(random() % 1000) / 10);
    cubic.push_back(2 - 0.3 * x.back() + 1e-3 * std::pow(x.back(), 3));
  }
  const CurveBasis basis = curve_basis(x);
  for (std::size_t a = 0; a < curve_functions; ++a) {
    for (std::size_t b = 0; b <= a; ++b) {
      double product = 0;
      for (std::size_t i = 0; i < x.size(); ++i) product += basis[a][i] * basis[b][i] / 40;
      CHECK(product == doctest::Approx(a == b ? 1 : 0).epsilon(1e-9));
    }
  }
  CHECK(curve_r2(basis, cubic) == doctest::Approx(1).epsilon(1e-9));
}

TEST_CASE("with two values of x a curve is a line: the functions beyond it are nothing") {
  const CurveBasis basis = curve_basis(std::vector<double>{1, 1, 3, 3});
  CHECK(basis[0][3] == doctest::Approx(1));
  CHECK(std::count(basis[1].begin(), basis[1].end(), 0.0) == 4);
  CHECK(std::count(basis[2].begin(), basis[2].end(), 0.0) == 4);
}

TEST_CASE("levels that break the order are put together, weighted by their rows") {
  // By hand: 3 and 2 become one of 2.5 at x 2.5; the twofold level 4 is (7 + 9) / 2.
  const std::vector<double> raw{1, 3, 2, 7, 9, 10};
  const MonotoneCurve curve(rows_of({1, 2, 3, 4, 4, 5}), raw);
  REQUIRE(curve.nodes().size() == 4);
  CHECK(curve.groups() == 5);
  CHECK(curve.nodes()[1].x == doctest::Approx(2.5));
  CHECK(curve.nodes()[1].raw == doctest::Approx(2.5));
  CHECK(curve.nodes()[2].raw == doctest::Approx(8));
  CHECK(curve.raw_at(4.5) == doctest::Approx(9));
  CHECK(curve.x_at(9) == doctest::Approx(4.5));
  CHECK(curve.raw_at(6) == doctest::Approx(12));  // the last piece goes on
}

TEST_CASE("a falling curve falls, and a row without frames is left out") {
  const std::vector<double> raw{9, std::nan(""), 4, 1};
  const MonotoneCurve curve(rows_of({1, 2, 3, 4}), raw);
  REQUIRE(curve.nodes().size() == 3);
  CHECK(curve.slope_at(2) == doctest::Approx(-2.5));
  CHECK(curve.x_at(6.5) == doctest::Approx(2));
}

TEST_CASE("the search for curved fields finds what reading every field out finds") {
  std::mt19937_64 random(11);
  for (int board = 0; board < 20; ++board) {
    CAPTURE(board);
    std::vector<double> levels;
    for (int k = 0; k < 8; ++k) levels.push_back(static_cast<double>(random() % 600) / 10);
    const Bench b = bench_with(
        levels, [](double x) { return 900 + 60 * x - 0.5 * x * x; }, random());
    const auto streams = make_streams(b.messages, survey(b.messages));
    const RowSet set = make_rows(b.channels[0], b.messages[0].t_ns.back());
    Moments m = row_means(streams[0], set, 0);
    make_covariance(m);
    std::vector<double> x;
    for (const Row& row : set.rows) x.push_back(row.x);
    const CurveBasis basis = curve_basis(x);
    const auto found = SpanTable(m).search(curve_covariances(m, basis), 0.5);
    CHECK(!found.empty());
    for (const SpanScore& score : found) {
      const Coding coding = score.is_signed ? Coding::twos_complement : Coding::natural;
      const auto raw = raw_row_means(streams[0], set, 0, score.span, coding);
      CHECK(score.r2 == doctest::Approx(curve_r2(basis, raw)).epsilon(1e-6));
    }
  }
}

TEST_CASE("points between measured ones follow a bend that chords cut off, and stay in order") {
  // Square roots: known in closed form.
  std::vector<CurvePoint> points;
  for (const double v : {0.5, 2.0, 4.0, 7.0, 11.0, 16.0})
    points.push_back({std::sqrt(v) * 100, v, 0.01});
  const auto filled = with_points_between(points, 0.02);
  CHECK(filled.size() > points.size());
  double worst = 0;
  double worst_chord = 0;
  for (double v = 0.5; v <= 16; v += 0.05) {
    worst = std::max(worst, std::abs(value_at(filled, std::sqrt(v) * 100) - v));
    worst_chord = std::max(worst_chord, std::abs(value_at(points, std::sqrt(v) * 100) - v));
  }
  CHECK(worst < 0.02);
  CHECK(worst_chord == doctest::Approx(0.125).epsilon(0.01));  // ((sqrt 2 - sqrt 1/2) / 2)^2
  CHECK(std::is_sorted(filled.begin(), filled.end(), [](const CurvePoint& a, const CurvePoint& b) {
    return a.raw < b.raw && a.value < b.value;
  }));
  CHECK(with_points_between({{0, 0, 0}, {1, 1, 0}, {3, 3, 0}}, 1e-9).size() == 3);  // straight
}

// Resistances in ohms of a 10 kΩ thermistor, every 10 degrees from -40 to 110 °C: the table for the
// B57330V2103 in the Linux kernel's driver ntc_thermistor.
TEST_CASE("a published thermistor's table comes back out of a divider's raw codes") {
  const std::vector<double> ohms{190030, 112060, 68104, 42576, 27326, 17973, 12090, 8311,
                                 5825,   4158,   3019,  2227,  1668,  1266,  973,   757};
  const auto code_of = [](double r) { return 4095 * r / (r + 10000); };
  const auto row = [](double celsius) { return static_cast<std::size_t>(celsius / 10 + 4); };
  std::vector<double> levels;  // every other row of the table is set on the bench
  for (int celsius = -40; celsius <= 100; celsius += 20) levels.push_back(celsius);
  const Correlation c = answer(bench_with(levels, [&](double t) { return code_of(ohms[row(t)]); }));
  REQUIRE(c.proposals.size() == 1);
  const Proposal& p = c.proposals[0];
  CHECK(p.channel == "temp");
  CHECK(p.place.span == *parse_span("0.7..1.0"));
  CHECK(p.verdict == Verdict::strong);
  CHECK(p.levels == 8);
  REQUIRE(!p.table.empty());
  const auto measured = std::count_if(p.table.begin(), p.table.end(), [](const CurvePoint& point) {
    return !std::isnan(point.uncertainty);
  });
  CHECK(measured == 8);
  for (const double celsius : levels) {  // one code is 0.1 K to 0.6 K here
    CAPTURE(celsius);
    CHECK(std::abs(value_at(p.table, code_of(ohms[row(celsius)])) - celsius) < 0.3);
  }
  for (int celsius = -30; celsius <= 90; celsius += 20) {  // rows that nobody set
    CAPTURE(celsius);
    CHECK(std::abs(value_at(p.table, code_of(ohms[row(celsius)])) - celsius) < 1.0);
  }
}

TEST_CASE("a straight field gets no table, however many levels it had") {
  std::vector<double> levels;
  for (int celsius = -40; celsius <= 100; celsius += 10) levels.push_back(celsius);
  const Correlation c = answer(bench_with(levels, [](double t) { return 40 * (t + 40) + 200; }));
  REQUIRE(c.proposals.size() == 1);
  CHECK(c.proposals[0].table.empty());
}

TEST_CASE("a field that turns back is no table: nobody could read a value from it") {
  std::vector<double> levels;
  for (int celsius = -40; celsius <= 100; celsius += 10) levels.push_back(celsius);
  CHECK(answer(bench_with(levels, [](double t) {
          return 0.5 * (t - 30) * (t - 30) + 50;
        })).proposals.empty());
}

TEST_CASE("five levels are too few for a curve") {
  CHECK(answer(bench_with({-40, -10, 20, 60, 100}, [](double t) {
          return 4000 / (1 + std::exp(t / 25));
        })).proposals.empty());
}

TEST_CASE("a straight field that stops at both ends of its range is a line, not a table") {
  std::vector<double> levels;
  for (int celsius = -40; celsius <= 100; celsius += 10) levels.push_back(celsius);
  const Correlation c = answer(
      bench_with(levels, [](double t) { return 20 * (std::clamp(t, -12.0, 71.0) + 40) + 200; }));
  REQUIRE(c.proposals.size() == 1);
  const Proposal& p = c.proposals[0];
  CHECK(p.place.span == *parse_span("0.7..1.0"));
  CHECK(p.table.empty());
  CHECK(p.scale == 0.05);
  CHECK(p.offset == doctest::Approx(-50));
}

TEST_CASE("the straight stretch between end stops is told from a curve") {
  const auto curve = [](const std::function<double(double)>& raw_of) {
    std::vector<double> x;
    std::vector<double> raw;
    for (int k = 0; k <= 12; ++k) {
      x.push_back(10.0 * k);
      raw.push_back(raw_of(x.back()));
    }
    return MonotoneCurve(rows_of(x), raw);
  };
  const auto stretch = straight_stretch(
      curve([](double x) { return 10 * std::clamp(x, 15.0, 95.0) + 0.01 * x; }), 0.002);
  REQUIRE(stretch.has_value());
  CHECK(stretch->low == doctest::Approx(20));
  CHECK(stretch->high == doctest::Approx(90));
  // One level lies so near to the knee that it falls short a little only.
  const auto knee = straight_stretch(
      curve([](double x) { return 10 * std::clamp(x, 15.0, 98.0) + 0.01 * x; }), 0.01);
  REQUIRE(knee.has_value());
  CHECK(knee->high == doctest::Approx(90));
  CHECK(!straight_stretch(curve([](double x) { return 10 * x; }), 0.002));  // never stops
  CHECK(!straight_stretch(curve([](double x) { return 1000 * std::tanh(x / 60 - 1); }), 0.002));
  CHECK(!straight_stretch(curve([](double x) { return 100 * std::sqrt(x); }), 0.002));
}

TEST_CASE(
    "a straight field of which a third of the plateaus were read off it is a line, and weak") {
  // Twelve plateaus of eight levels; a late hand has left four of them between two levels.
  const std::vector<double> levels{19.2, 1.5,  25.1, 7.4,  19.2, 13.3,
                                   36.9, 42.8, 31.0, 13.3, 1.5,  25.1};
  const std::vector<double> off{0, 0, 0, 35, 0, 0, 0, -15, -27, -23, 0, 0};
  Bench b = bench_with({}, [](double) { return 0.0; });
  MessageSeries& m = b.messages[0];
  std::mt19937_64 random(5);
  std::normal_distribution<double> noise(0, 0.4);
  for (std::size_t i = 0; i < levels.size(); ++i) {
    const auto start = static_cast<std::int64_t>(i) * 10 * second;
    b.channels[0].readings.push_back({start, levels[i], 0.01, ""});
    for (int k = 0; k < 100; ++k) {
      m.t_ns.push_back(start + k * second / 10);
      std::vector<std::uint8_t> bytes(8, 0);
      const double raw = 10 * (levels[i] + 68.2) + off[i] + noise(random);
      insert(*parse_span("0.7..1.0"), static_cast<std::uint64_t>(std::llround(raw)), bytes);
      m.bytes.insert(m.bytes.end(), bytes.begin(), bytes.end());
    }
  }
  const Correlation c = answer(b);
  REQUIRE(c.proposals.size() == 1);
  CHECK(c.proposals[0].table.empty());
  CHECK(c.proposals[0].verdict == Verdict::weak);
  CHECK(c.proposals[0].note == "4 of its plateaus lie off the line: set those levels again");
  CHECK(c.proposals[0].scale_fitted == doctest::Approx(0.1).epsilon(0.005));
}
