#include "tests/against/edits.h"

#include <algorithm>
#include <stdexcept>

#include "tools/board/checksums.h"

namespace foundling::test {
namespace {

void set_checksum(std::uint32_t number, Row row) {
  const auto first = std::span<const std::uint8_t>(row).first(std::min<std::size_t>(7, row.size()));
  if (number == 0x1A4) row[7] = board::crc8_j1850(first);
  if (number == 0x1B0) row[7] = board::xor8(first);
  if (number == 0x2D0) row[7] = board::sum8(first);
}

Row row_of(MessageSeries& series, std::size_t i) {
  return Row(series.bytes).subspan(i * series.length, series.length);
}

}  // namespace

MessageSeries& message(Messages& messages, std::uint32_t number) {
  for (MessageSeries& series : messages) {
    if (series.id.number() == number) return series;
  }
  throw std::logic_error("no such message");
}

void edit(Messages& messages, std::uint32_t number,
          const std::function<void(std::size_t i, Row row)>& change) {
  MessageSeries& series = message(messages, number);
  for (std::size_t i = 0; i < series.size(); ++i) {
    change(i, row_of(series, i));
    set_checksum(number, row_of(series, i));
  }
}

void keep(MessageSeries& series, const std::function<bool(std::size_t i)>& wanted) {
  MessageSeries kept;
  kept.bus = series.bus;
  kept.id = series.id;
  kept.length = series.length;
  for (std::size_t i = 0; i < series.size(); ++i) {
    if (!wanted(i)) continue;
    kept.t_ns.push_back(series.t_ns[i]);
    const Row row = row_of(series, i);
    kept.bytes.insert(kept.bytes.end(), row.begin(), row.end());
  }
  series = std::move(kept);
}

void shorten(MessageSeries& series, std::uint8_t length) {
  std::vector<std::uint8_t> bytes;
  for (std::size_t i = 0; i < series.size(); ++i) {
    const Row row = row_of(series, i);
    bytes.insert(bytes.end(), row.begin(), row.begin() + length);
  }
  series.bytes = std::move(bytes);
  series.length = length;
}

void retime(MessageSeries& series, const std::function<double(std::size_t i, double t_s)>& when) {
  for (std::size_t i = 0; i < series.size(); ++i) {
    series.t_ns[i] =
        static_cast<std::int64_t>(1e9 * when(i, static_cast<double>(series.t_ns[i]) / 1e9));
  }
  std::sort(series.t_ns.begin(), series.t_ns.end());
}

void add_message(Messages& messages, std::uint32_t number, const std::vector<double>& times_s,
                 const std::function<void(std::size_t i, Row row)>& fill) {
  MessageSeries series;
  series.id = CanId::standard(number);
  series.length = 8;
  series.bytes.resize(times_s.size() * 8);
  for (std::size_t i = 0; i < times_s.size(); ++i) {
    series.t_ns.push_back(static_cast<std::int64_t>(times_s[i] * 1e9));
    fill(i, row_of(series, i));
  }
  messages.push_back(std::move(series));
}

double start_s(const Messages& messages) {
  double start = 1e18;
  for (const MessageSeries& m : messages) {
    start = std::min(start, static_cast<double>(m.t_ns.front()) / 1e9);
  }
  return start;
}

std::vector<double> random_times(const Messages& messages, double rate, std::mt19937_64& random) {
  double end = 0;
  for (const MessageSeries& m : messages) {
    end = std::max(end, static_cast<double>(m.t_ns.back()) / 1e9);
  }
  std::exponential_distribution<double> gap(rate);
  std::vector<double> times;
  for (double t = start_s(messages) + gap(random); t < end; t += gap(random)) times.push_back(t);
  return times;
}

}  // namespace foundling::test
