// Finding a lag: G. E. P. Box and G. M. Jenkins, Time Series Analysis: Forecasting and Control
// (1976), p. 537, series M: sales and a leading indicator, 150 points each, as carried by R's
// `datasets` (BJsales, BJsales.lead). Known: the indicator moves three steps before sales, which
// then follow with 0.72 of their last change left a step. That shows in the differences; the raw
// series share a trend, and a correlation of trends points elsewhere.
#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <span>
#include <vector>

#include "decoder/analysis/correlate.h"
#include "decoder/analysis/delay.h"
#include "decoder/analysis/line_fit.h"

using namespace foundling;

namespace {

constexpr std::int64_t second = 1'000'000'000;

constexpr std::array lead{
    10.01, 10.07, 10.32, 9.75,  10.33, 10.13, 10.36, 10.32, 10.13, 10.16, 10.58, 10.62, 10.86,
    11.20, 10.74, 10.56, 10.48, 10.77, 11.33, 10.96, 11.16, 11.70, 11.39, 11.42, 11.94, 11.24,
    11.59, 10.96, 11.40, 11.02, 11.01, 11.23, 11.33, 10.83, 10.84, 11.14, 10.38, 10.90, 11.05,
    11.11, 11.01, 11.22, 11.21, 11.91, 11.69, 10.93, 10.99, 11.01, 10.84, 10.76, 10.77, 10.88,
    10.49, 10.50, 11.00, 10.98, 10.61, 10.48, 10.53, 11.07, 10.61, 10.86, 10.34, 10.78, 10.80,
    10.33, 10.44, 10.50, 10.75, 10.40, 10.40, 10.34, 10.55, 10.46, 10.82, 10.91, 10.87, 10.67,
    11.11, 10.88, 11.28, 11.27, 11.44, 11.52, 12.10, 11.83, 12.62, 12.41, 12.43, 12.73, 13.01,
    12.74, 12.73, 12.76, 12.92, 12.64, 12.79, 13.05, 12.69, 13.01, 12.90, 13.12, 12.47, 12.47,
    12.94, 13.10, 12.91, 13.39, 13.13, 13.34, 13.34, 13.14, 13.49, 13.87, 13.39, 13.59, 13.27,
    13.70, 13.20, 13.32, 13.15, 13.30, 12.94, 13.29, 13.26, 13.08, 13.24, 13.31, 13.52, 13.02,
    13.25, 13.12, 13.26, 13.11, 13.30, 13.06, 13.32, 13.10, 13.27, 13.64, 13.58, 13.87, 13.53,
    13.41, 13.25, 13.50, 13.58, 13.51, 13.77, 13.40};
constexpr std::array sales{
    200.1, 199.5, 199.4, 198.9, 199.0, 200.2, 198.6, 200.0, 200.3, 201.2, 201.6, 201.5, 201.5,
    203.5, 204.9, 207.1, 210.5, 210.5, 209.8, 208.8, 209.5, 213.2, 213.7, 215.1, 218.7, 219.8,
    220.5, 223.8, 222.8, 223.8, 221.7, 222.3, 220.8, 219.4, 220.1, 220.6, 218.9, 217.8, 217.7,
    215.0, 215.3, 215.9, 216.7, 216.7, 217.7, 218.7, 222.9, 224.9, 222.2, 220.7, 220.0, 218.7,
    217.0, 215.9, 215.8, 214.1, 212.3, 213.9, 214.6, 213.6, 212.1, 211.4, 213.1, 212.9, 213.3,
    211.5, 212.3, 213.0, 211.0, 210.7, 210.1, 211.4, 210.0, 209.7, 208.8, 208.8, 208.8, 210.6,
    211.9, 212.8, 212.5, 214.8, 215.3, 217.5, 218.8, 220.7, 222.2, 226.7, 228.4, 233.2, 235.7,
    237.1, 240.6, 243.8, 245.3, 246.0, 246.3, 247.7, 247.6, 247.8, 249.4, 249.0, 249.9, 250.5,
    251.5, 249.0, 247.6, 248.8, 250.4, 250.7, 253.0, 253.7, 255.0, 256.2, 256.0, 257.4, 260.4,
    260.0, 261.3, 260.4, 261.6, 260.8, 259.8, 259.0, 258.9, 257.4, 257.7, 257.9, 257.4, 257.3,
    257.6, 258.9, 257.8, 257.7, 257.2, 257.5, 256.8, 257.5, 257.0, 257.6, 257.3, 257.5, 259.6,
    261.1, 262.9, 263.3, 262.8, 261.8, 262.2, 262.7};

std::vector<double> differences(std::span<const double> values) {
  std::vector<double> out;
  for (std::size_t i = 1; i < values.size(); ++i) out.push_back(values[i] - values[i - 1]);
  return out;
}

// Pearson's r of x and of y `lag` steps later, over the pairs that overlap.
double r_at_lag(std::span<const double> x, std::span<const double> y, std::size_t lag) {
  const LineFit fit = fit_line(x.first(x.size() - lag), y.subspan(lag));
  return std::copysign(std::sqrt(fit.r2), fit.slope);
}

// One step of the series is one second: the indicator holds over [k, k + 1), and the frame that
// tells the same step's sales, in tenths, comes at its end.
struct Recording {
  std::vector<MessageSeries> messages{MessageSeries{}};
  std::vector<ChannelSeries> channels{{{"indicator", "%", ChannelKind::hold}, {}}};
  Span span{{0, 7}, {1, 0}};
};

Recording record(std::span<const double> x, std::span<const double> y, double zero) {
  Recording r;
  MessageSeries& m = r.messages[0];
  m.id = CanId::standard(0x100);
  m.length = 2;
  for (std::size_t k = 0; k < x.size(); ++k) {
    const auto t = static_cast<std::int64_t>(k) * second;
    r.channels[0].readings.push_back({t, x[k], 0, ""});
    const auto raw = static_cast<std::uint32_t>(std::llround((y[k] + zero) * 10));
    m.t_ns.push_back(t + second - 1);
    m.bytes.push_back(static_cast<std::uint8_t>(raw >> 8));
    m.bytes.push_back(static_cast<std::uint8_t>(raw & 0xFF));
  }
  return r;
}

Lag lag_of(const Recording& r) {
  const auto streams = make_streams(r.messages, Survey{{MessageSurvey{}}});
  REQUIRE(streams.size() == 1);
  return fit_lag(streams[0], r.channels[0], r.span, Coding::natural);
}

}  // namespace

TEST_CASE("cross-correlations of the differenced sales data are the recomputed ones") {
  // Pearson's r of the overlapping pairs, recomputed in R from the same data.
  const auto x = differences(lead);
  const auto y = differences(sales);
  constexpr std::array expected{-0.003170, 0.071380, -0.383879, 0.728008, 0.105626,
                                0.109964,  0.044549, 0.144573,  0.049745};
  for (std::size_t k = 0; k < expected.size(); ++k) {
    CAPTURE(k);
    CHECK(r_at_lag(x, y, k) == doctest::Approx(expected[k]).scale(1).epsilon(1e-6));
  }
}

TEST_CASE("the lag of the differenced sales data is three steps, with their known memory") {
  const Lag lag = lag_of(record(differences(lead), differences(sales), 10));
  CHECK(lag.delay_s == doctest::Approx(3).epsilon(0.05));
  // 0.72 left after a step is a low-pass of 1 / -ln 0.72 = 3.04 steps; a least-squares fit of the
  // same data gives 0.726, which is 3.12. 0.05 on the coefficient is 0.6 steps.
  CHECK(lag.time_constant_s > 3.04 - 0.6);
  CHECK(lag.time_constant_s < 3.12 + 0.6);
  // The regression on lags 0 to 6 explains 0.911 of the variance; one pole and a delay come close.
  CHECK(lag.r2 > 0.85);
}

TEST_CASE("the raw sales data mislead: their trends agree best at another lag") {
  CHECK(r_at_lag(lead, sales, 3) == doctest::Approx(0.981568).epsilon(1e-6));
  CHECK(r_at_lag(lead, sales, 4) == doctest::Approx(0.983105).epsilon(1e-6));
  // A search over delays cannot know; what it must not do is to call such a match sound.
  for (const ChannelKind kind : {ChannelKind::hold, ChannelKind::sample}) {
    Recording raw = record(lead, sales, 0);
    raw.channels[0].channel.kind = kind;
    const Correlation c = correlate(raw.messages, raw.channels, survey(raw.messages));
    for (const Proposal& p : c.proposals) {
      CAPTURE(p.delay_s);
      CAPTURE(p.chance);
      CAPTURE(p.note);
      CHECK(p.verdict != Verdict::strong);
    }
  }
}
