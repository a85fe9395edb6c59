#include "tools/board/session_csv.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <ostream>
#include <string_view>

#include "schemas/values/table_cell.h"

namespace foundling::board {
namespace {

// Seconds with six decimals: all times of a session are multiples of 1 µs.
void append_seconds(std::string& line, std::int64_t t_ns) {
  const std::string micro = std::to_string(t_ns % 1'000'000'000 / 1000);
  line += std::to_string(t_ns / 1'000'000'000) + '.' + std::string(6 - micro.size(), '0') + micro;
}

void append_hex(std::string& line, std::uint32_t value, int digits) {
  constexpr std::string_view hex = "0123456789ABCDEF";
  for (int i = digits - 1; i >= 0; --i) line += hex[(value >> (4 * i)) & 0xFU];
}

void append_number(std::string& line, double value) {
  std::array<char, 32> text{};
  const auto end = std::to_chars(text.data(), text.data() + text.size(), value).ptr;
  line.append(text.data(), end);
}

struct Row {
  const Channel* channel;
  const Reading* reading;
};

}  // namespace

void write_frames_csv(std::ostream& out, const BenchSession& session) {
  out << "time_s,bus,identifier,extended,payload\n";
  std::string line;
  for (const Frame& frame : session.frames) {
    line.clear();
    append_seconds(line, frame.t_ns);
    line += ',' + std::to_string(frame.bus) + ',';
    append_hex(line, frame.id.number(), frame.id.is_extended() ? 8 : 3);
    line += frame.id.is_extended() ? ",1," : ",0,";
    for (const std::uint8_t byte : frame.bytes()) append_hex(line, byte, 2);
    out << line << '\n';
  }
}

std::string stimulus_csv_line(const Channel& channel, const Reading& reading) {
  std::string line;
  append_seconds(line, reading.t_ns);
  line += ',' + bare_cell(channel.name) + ',' + bare_cell(channel.unit) + ',';
  if (channel.is_state()) {
    line += bare_cell(reading.state);
  } else {
    append_number(line, reading.value);
  }
  line += ',';
  if (!std::isnan(reading.uncertainty)) append_number(line, reading.uncertainty);
  return line + '\n';
}

void write_stimulus_csv(std::ostream& out, const BenchSession& session) {
  std::vector<Row> rows;
  for (const ChannelSeries& series : session.channels) {
    for (const Reading& reading : series.readings) rows.push_back({&series.channel, &reading});
  }
  std::stable_sort(rows.begin(), rows.end(),
                   [](const Row& a, const Row& b) { return a.reading->t_ns < b.reading->t_ns; });
  out << stimulus_csv_header;
  for (const Row& row : rows) out << stimulus_csv_line(*row.channel, *row.reading);
}

}  // namespace foundling::board
