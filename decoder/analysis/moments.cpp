#include "decoder/analysis/moments.h"

#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace foundling {
namespace {

using Matrix = Eigen::Map<const Eigen::MatrixXd>;

Matrix deviations(const Moments& m) {
  return {m.deviation.data(), static_cast<Eigen::Index>(m.rows.size()),
          static_cast<Eigen::Index>(m.bits.size())};
}

}  // namespace

std::pair<std::size_t, std::size_t> frames_of(const Stream& stream, const Row& row,
                                              ChannelKind kind, std::int64_t delay_ns) {
  std::int64_t from = row.from_ns + delay_ns;
  std::int64_t to = row.to_ns + delay_ns;
  if (kind == ChannelKind::sample) {
    // A moment: as narrow as the message allows, at least one frame on average.
    const std::int64_t middle = from + (to - from) / 2;
    const auto half = static_cast<std::int64_t>(stream.period_s * 0.6e9);
    from = std::max(from, middle - std::max(half, (to - from) / 8));
    to = std::min(to, middle + std::max(half, (to - middle) / 4));
    from = std::min(from, middle - half);
    to = std::max(to, middle + half);
  }
  return {stream.bits.first_at(from), stream.bits.first_at(to)};
}

FrameRanges frames_of_rows(const Stream& stream, const RowSet& set, std::int64_t delay_ns) {
  FrameRanges ranges;
  ranges.reserve(set.rows.size());
  for (const Row& row : set.rows) ranges.push_back(frames_of(stream, row, set.kind, delay_ns));
  return ranges;
}

Moments row_means(const Stream& stream, const RowSet& set, std::int64_t delay_ns) {
  Moments m;
  FrameRanges ranges;
  for (std::size_t i = 0; i < set.rows.size(); ++i) {
    const auto range = frames_of(stream, set.rows[i], set.kind, delay_ns);
    if (range.first >= range.second) continue;
    m.rows.push_back(i);
    ranges.push_back(range);
  }
  m.column.assign(static_cast<std::size_t>(stream.bits.bits()), -1);
  // A row's bits are counted together, then taken bit by bit.
  const auto moving = stream.bits.moving();
  std::vector<std::uint32_t> ones(ranges.size() * moving.size());
  for (std::size_t i = 0; i < ranges.size(); ++i) {
    stream.bits.ones_of_moving(ranges[i].first, ranges[i].second,
                               std::span(ones).subspan(i * moving.size(), moving.size()));
  }
  std::vector<double> means(ranges.size());
  for (std::size_t k = 0; k < moving.size(); ++k) {
    const auto bit = static_cast<std::size_t>(moving[k]);
    if (!stream.moving[bit]) continue;
    for (std::size_t i = 0; i < ranges.size(); ++i) {
      const auto [from, to] = ranges[i];
      means[i] = static_cast<double>(ones[i * moving.size() + k]) / static_cast<double>(to - from);
    }
    const auto [least, most] = std::minmax_element(means.begin(), means.end());
    if (means.empty() || *least == *most) continue;
    const double overall =
        std::accumulate(means.begin(), means.end(), 0.0) / static_cast<double>(means.size());
    m.column[bit] = static_cast<int>(m.bits.size());
    m.bits.push_back(static_cast<int>(bit));
    double squares = 0;
    for (const double mean : means) {
      m.deviation.push_back(mean - overall);
      squares += (mean - overall) * (mean - overall);
    }
    m.variance.push_back(squares / static_cast<double>(means.size()));
  }
  return m;
}

void make_covariance(Moments& m) {
  const Matrix d = deviations(m);
  const auto n = static_cast<Eigen::Index>(m.bits.size());
  m.covariance.resize(m.bits.size() * m.bits.size());
  Eigen::Map<Eigen::MatrixXd> covariance(m.covariance.data(), n, n);
  covariance.noalias() = d.transpose() * d;
  covariance /= static_cast<double>(m.rows.size());
}

bool covers(const Moments& m, const RowSet& set) {
  if (m.rows.size() < 5 || m.rows.size() * 4 < set.rows.size()) return false;
  // One long plateau has many rows and says one thing only.
  int plateaus = 0;
  int last = -1;
  for (const std::size_t i : m.rows) {
    if (set.rows[i].plateau != last) ++plateaus;
    last = set.rows[i].plateau;
  }
  return plateaus >= std::min(5, set.plateaus) && plateaus * 4 >= set.plateaus;
}

std::vector<double> centred_x(const Moments& m, const RowSet& set) {
  std::vector<double> x;
  for (const std::size_t i : m.rows) x.push_back(set.rows[i].x);
  const double mean = std::accumulate(x.begin(), x.end(), 0.0) / static_cast<double>(x.size());
  for (double& value : x) value -= mean;
  return x;
}

std::vector<double> bit_covariances(const Moments& m, std::span<const double> x) {
  std::vector<double> c(m.bits.size());
  const Eigen::Map<const Eigen::VectorXd> xs(x.data(), static_cast<Eigen::Index>(x.size()));
  Eigen::Map<Eigen::VectorXd>(c.data(), static_cast<Eigen::Index>(c.size())) =
      deviations(m).transpose() * xs / static_cast<double>(m.rows.size());
  return c;
}

double greatest_bit_correlation(const Moments& m, std::span<const double> c, double x_variance) {
  double greatest = 0;
  for (std::size_t i = 0; i < c.size(); ++i) {
    greatest = std::max(greatest, std::abs(c[i]) / std::sqrt(m.variance[i] * x_variance));
  }
  return greatest;
}

double variance(std::span<const double> centred) {
  return std::inner_product(centred.begin(), centred.end(), centred.begin(), 0.0) /
         static_cast<double>(std::max<std::size_t>(centred.size(), 1));
}

std::vector<double> raw_row_means(const Stream& stream, const RowSet& set, std::int64_t delay_ns,
                                  const Span& span, Coding coding) {
  return raw_row_means(stream, frames_of_rows(stream, set, delay_ns), span, coding);
}

std::vector<double> raw_row_means(const Stream& stream, const FrameRanges& ranges, const Span& span,
                                  Coding coding) {
  std::vector<double> means;
  const int width = span.width();
  // What is no weighted sum of its bits is read frame by frame.
  std::vector<std::uint64_t> raw;
  if (!is_plain(coding)) raw = stream.bits.raw(span);
  for (const auto& [from, to] : ranges) {
    double sum = from < to ? 0 : std::numeric_limits<double>::quiet_NaN();
    if (!is_plain(coding)) {
      for (std::size_t i = from; i < to; ++i) sum += number_of(raw[i], width, coding);
    } else {
      for (int i = 0; i < width; ++i) {
        const bool negative = coding == Coding::twos_complement && i == width - 1;
        const double weight = std::ldexp(negative ? -1.0 : 1.0, i);
        sum += weight * stream.bits.ones(bit_index(span.position(i)), from, to);
      }
    }
    means.push_back(sum / static_cast<double>(to - from));
  }
  return means;
}

}  // namespace foundling
