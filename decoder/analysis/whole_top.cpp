#include "decoder/analysis/whole_top.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "decoder/analysis/moments.h"
#include "decoder/analysis/plateau_points.h"

namespace foundling {
namespace {

constexpr double unknown = std::numeric_limits<double>::quiet_NaN();

class Plateaus {
 public:
  Plateaus(const Stream& stream, RowSet set, std::int64_t delay_ns)
      : stream_(stream), set_(std::move(set)), ranges_(frames_of_rows(stream, set_, delay_ns)) {}

  // The median code of a plateau's frames, for each of its rows.
  [[nodiscard]] std::vector<double> median_codes(const Span& span, Coding coding) const {
    const std::vector<std::uint64_t> raw = stream_.bits.raw(span);
    std::vector<double> out;
    while (out.size() < set_.rows.size()) {
      std::vector<double> codes;
      std::size_t end = out.size();
      const int plateau = set_.rows[end].plateau;
      for (; end < set_.rows.size() && set_.rows[end].plateau == plateau; ++end) {
        for (std::size_t k = ranges_[end].first; k < ranges_[end].second; ++k) {
          codes.push_back(number_of(raw[k], span.width(), coding));
        }
      }
      out.resize(end, codes.empty() ? unknown : median_of(std::move(codes)));
    }
    return out;
  }

  // Whether each row's plateau lies on the field's line.
  [[nodiscard]] std::vector<bool> on_line(const RoughField& field) const {
    const std::vector<double> codes = median_codes(field.span, field.coding);
    std::vector<bool> out;
    for (std::size_t i = 0; i < codes.size(); ++i) {
      const double off = codes[i] - field.line.intercept - field.line.slope * set_.rows[i].x;
      out.push_back(std::abs(off) <= near_line(field.line, set_.rows[i].u));  // not so of no number
    }
    return out;
  }

  // Whether a bit moves from one of those rows to another.
  [[nodiscard]] bool moves(BitPosition bit, const std::vector<bool>& rows) const {
    const std::vector<double> stands = median_codes({bit, bit}, Coding::natural);
    std::optional<double> first;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      if (!rows[i]) continue;
      if (first && *first != stands[i]) return true;
      first = stands[i];
    }
    return false;
  }

  // The same field with other bits, along the line that most plateaus' medians give.
  [[nodiscard]] std::optional<RoughField> read(const RoughField& like, const Span& span,
                                               Coding coding) const {
    auto field = line_of_most(set_, median_codes(span, coding));
    if (!field) return {};
    field->stream = like.stream;
    field->span = span;
    field->coding = coding;
    field->options = like.options;
    field->delay_ns = like.delay_ns;
    return field;
  }

 private:
  const Stream& stream_;
  RowSet set_;
  FrameRanges ranges_;
};

}  // namespace

RoughField with_upper_bits(const RoughField& field, const Stream& stream,
                           const ChannelSeries& channel, std::int64_t end_ns) {
  if (!is_plain(field.coding)) return field;
  const Plateaus plateaus(stream, make_rows(channel, end_ns, field.options), field.delay_ns);
  const auto as_it_is = plateaus.read(field, field.span, field.coding);
  if (!as_it_is) return field;
  const std::vector<bool> on_line = plateaus.on_line(*as_it_is);
  RoughField widest = field;
  for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
    if (field.span.order() != ByteOrder::single && field.span.order() != order) continue;
    for (int width = field.span.width() + 1; width <= 48; ++width) {
      const auto span = Span::from_lsb(field.span.lsb, width, order);
      if (!span || span->last_byte() * 8 >= stream.bits.bits()) break;
      const auto bit = static_cast<std::size_t>(bit_index(span->msb));
      if (stream.owned[bit]) break;
      if (!stream.moving[bit] || !plateaus.moves(span->msb, on_line)) continue;
      for (const Coding coding : {Coding::twos_complement, Coding::natural}) {
        const auto wider = plateaus.read(field, *span, coding);
        if (!wider || wider->agree < as_it_is->agree || wider->saving < as_it_is->saving) continue;
        if (width >= widest.span.width()) widest = *wider;
      }
    }
  }
  return widest;
}

}  // namespace foundling
