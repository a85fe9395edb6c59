// The three things from which the fit of every candidate field follows: the bits' means over the
// rows of a channel, their covariance matrix, and their covariances with the channel. A field is
// raw = sum w_j b_j, so cov(raw, x) = w'c and var(raw) = w'Cw, and one bit more costs O(width).
#pragma once

#include <cstdint>
#include <span>
#include <utility>
#include <vector>

#include "decoder/analysis/coding.h"
#include "decoder/analysis/rows.h"
#include "decoder/analysis/stream.h"

namespace foundling {

struct Moments {
  std::vector<int> bits;          // which bits of the payload: those that move over the rows
  std::vector<int> column;        // of each payload bit, its place in `bits`, or -1
  std::vector<std::size_t> rows;  // indices of the rows in which the stream has frames
  std::vector<double> deviation;  // rows.size() x bits.size(), column-major: mean less overall mean
  std::vector<double> variance;   // of each of `bits` over the rows
  std::vector<double> covariance;  // bits.size() squared; empty until make_covariance

  [[nodiscard]] double cov(int column_a, int column_b) const {
    return covariance[static_cast<std::size_t>(column_a) * bits.size() +
                      static_cast<std::size_t>(column_b)];
  }
};

// Means of the stream's moving bits over each row, the board being `delay_ns` behind the bench.
[[nodiscard]] Moments row_means(const Stream& stream, const RowSet& set, std::int64_t delay_ns);
void make_covariance(Moments& moments);
// Whether the stream has frames in enough of the rows to be judged: five, and a quarter of them,
// and as many plateaus. A message that came a few times only agrees with anything.
[[nodiscard]] bool covers(const Moments& moments, const RowSet& set);

// x at the moments' rows, less its mean.
[[nodiscard]] std::vector<double> centred_x(const Moments& moments, const RowSet& set);
// cov(bit, x) for each of the moments' bits.
[[nodiscard]] std::vector<double> bit_covariances(const Moments& moments,
                                                  std::span<const double> x);
// The greatest |correlation| of a single bit with x.
[[nodiscard]] double greatest_bit_correlation(const Moments& moments, std::span<const double> c,
                                              double x_variance);
[[nodiscard]] double variance(std::span<const double> centred);

// The frames of the stream that fall into a row: [first, second).
[[nodiscard]] std::pair<std::size_t, std::size_t> frames_of(const Stream& stream, const Row& row,
                                                            ChannelKind kind,
                                                            std::int64_t delay_ns);

// The same for every row of a set.
using FrameRanges = std::vector<std::pair<std::size_t, std::size_t>>;
[[nodiscard]] FrameRanges frames_of_rows(const Stream& stream, const RowSet& set,
                                         std::int64_t delay_ns);

// Mean raw value of a field over each row; NaN where the stream has no frame.
[[nodiscard]] std::vector<double> raw_row_means(const Stream& stream, const FrameRanges& ranges,
                                                const Span& span, Coding coding);
[[nodiscard]] std::vector<double> raw_row_means(const Stream& stream, const RowSet& set,
                                                std::int64_t delay_ns, const Span& span,
                                                Coding coding);

}  // namespace foundling
