#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "tests/bench/recovery/baselines.h"

namespace foundling::recovery {
namespace {

constexpr std::size_t most_rows = 2000;
constexpr double least_r_squared = 0.8;
constexpr double least_ratio = 1.6;
constexpr double most_ratio = 2.5;

// The channel's value at a time: held, or on the straight line between two samples.
double value_at(const ChannelSeries& channel, std::int64_t t_ns) {
  const auto& readings = channel.readings;
  const auto after = std::upper_bound(readings.begin(), readings.end(), t_ns,
                                      [](std::int64_t t, const Reading& r) { return t < r.t_ns; });
  if (after == readings.begin()) return readings.front().value;
  const Reading& before = *(after - 1);
  if (channel.channel.kind == ChannelKind::hold || after == readings.end()) return before.value;
  const auto gap = static_cast<double>(after->t_ns - before.t_ns);
  const double share = gap > 0 ? static_cast<double>(t_ns - before.t_ns) / gap : 0;
  return before.value + share * (after->value - before.value);
}

// Not within two seconds after the channel was changed: more than the method asks for, so that a
// board's delay does not spoil it.
bool is_settled(const ChannelSeries& channel, std::int64_t t_ns) {
  if (channel.channel.kind == ChannelKind::sample) return true;
  const auto& readings = channel.readings;
  const auto after = std::upper_bound(readings.begin(), readings.end(), t_ns,
                                      [](std::int64_t t, const Reading& r) { return t < r.t_ns; });
  return after == readings.begin() || t_ns - (after - 1)->t_ns > 2'000'000'000;
}

struct Fit {
  Eigen::VectorXd coefficients;  // by byte * 8 + bit
  double r_squared = 0;
};

Fit regress(const MessageSeries& message, const ChannelSeries& channel) {
  std::vector<std::size_t> rows;
  const std::size_t stride = message.size() / most_rows + 1;
  for (std::size_t i = 0; i < message.size(); i += stride) {
    if (is_settled(channel, message.t_ns[i])) rows.push_back(i);
  }
  const auto columns = static_cast<Eigen::Index>(message.length) * 8;
  Fit fit{Eigen::VectorXd::Zero(columns), 0};
  if (rows.size() < 20) return fit;
  Eigen::MatrixXd bits(static_cast<Eigen::Index>(rows.size()), columns);
  Eigen::VectorXd y(bits.rows());
  for (Eigen::Index r = 0; r < bits.rows(); ++r) {
    const std::size_t i = rows[static_cast<std::size_t>(r)];
    const auto row = message.row(i);
    y(r) = value_at(channel, message.t_ns[i]);
    for (Eigen::Index b = 0; b < columns; ++b) {
      const unsigned byte = row[static_cast<std::size_t>(b / 8)];
      bits(r, b) = (byte >> (b % 8)) & 1U;
    }
  }
  bits.rowwise() -= bits.colwise().mean().eval();
  y.array() -= y.mean();
  Eigen::MatrixXd normal = bits.transpose() * bits;
  // A trace of ridge: bits that never move or move as one make it singular.
  normal.diagonal().array() += 1e-6 * static_cast<double>(rows.size());
  fit.coefficients = normal.ldlt().solve(bits.transpose() * y);
  const double rest = (y - bits * fit.coefficients).squaredNorm();
  if (y.squaredNorm() > 0) fit.r_squared = 1 - rest / y.squaredNorm();
  return fit;
}

// The longest run, from its highest bit down, in which coefficients halve at each step; the top one
// may have the other sign.
void longest_run(const Eigen::VectorXd& coefficients, bool little, RegressionField& best) {
  const auto count = static_cast<int>(coefficients.size());
  const auto bit_at = [&](int k) {  // k rises towards the least significant bit
    const int at = little ? count - 1 - k : k / 8 * 8 + 7 - k % 8;
    return BitPosition{static_cast<std::uint8_t>(at / 8), static_cast<std::uint8_t>(at % 8)};
  };
  const auto weight = [&](int k) { return coefficients(bit_at(k).byte * 8 + bit_at(k).bit); };
  for (int start = 0; start < count; ++start) {
    int end = start;
    while (end + 1 < count && end - start < 31) {
      double ratio = weight(end) / weight(end + 1);
      if (end == start) ratio = std::abs(ratio);
      if (!(ratio >= least_ratio && ratio <= most_ratio)) break;
      ++end;
    }
    const Span span{bit_at(start), bit_at(end)};
    if (end - start + 1 <= 1 || (best.scale != 0 && end - start + 1 <= best.span.width())) continue;
    best.span = span;
    best.scale = weight(start + 1) / std::exp2(end - start - 1);
  }
}

}  // namespace

std::vector<std::optional<RegressionField>> fields_by_regression(
    const std::vector<MessageSeries>& messages, const std::vector<ChannelSeries>& channels) {
  std::vector<std::optional<RegressionField>> result(channels.size());
  std::vector<double> best(channels.size(), least_r_squared);
  for (std::size_t m = 0; m < messages.size(); ++m) {
    for (std::size_t c = 0; c < channels.size(); ++c) {
      if (channels[c].channel.is_state() || channels[c].readings.empty()) continue;
      const Fit fit = regress(messages[m], channels[c]);
      if (fit.r_squared <= best[c]) continue;
      best[c] = fit.r_squared;
      RegressionField field;
      field.message = m;
      field.r_squared = fit.r_squared;
      longest_run(fit.coefficients, false, field);
      longest_run(fit.coefficients, true, field);
      result[c].reset();
      if (field.scale != 0) result[c] = field;
    }
  }
  return result;
}

}  // namespace foundling::recovery
