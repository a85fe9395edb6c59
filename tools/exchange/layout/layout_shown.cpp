#include "tools/exchange/layout/layout_shown.h"

#include <algorithm>
#include <cstdio>

#include "schemas/values/shown_text.h"
#include "tools/exchange/decimal_seconds.h"

namespace foundling {
namespace {

constexpr std::size_t most_shown = 3;

std::string base_words(LayoutBase base) { return base == LayoutBase::hex ? "hex" : "decimal"; }

std::string hex(std::uint32_t number, int digits) {
  char text[16];
  std::snprintf(text, sizeof text, "%0*X", digits, number);
  return text;
}

std::string frame_line(const Frame& frame) {
  std::string line = "  ";
  append_seconds(line, frame.t_ns);
  line += " s  bus " + std::to_string(frame.bus) + "  " +
          hex(frame.id.number(), frame.id.is_extended() ? 8 : 3) + " ";
  constexpr std::size_t most_bytes = 8;
  for (std::size_t i = 0; i < std::min<std::size_t>(frame.length, most_bytes); ++i) {
    line += ' ' + hex(frame.payload[i], 2);
  }
  return line + (frame.length > most_bytes ? " ...\n" : "\n");
}

std::string rate_line(const std::vector<Frame>& frames) {
  const auto [first, last] = std::ranges::minmax_element(frames, {}, &Frame::t_ns);
  const double seconds =
      static_cast<double>(last->t_ns) / 1e9 - static_cast<double>(first->t_ns) / 1e9;
  if (seconds <= 0) return {};
  char text[120];
  std::snprintf(text, sizeof text, "The first %zu frames take %.3g s: %.3g frames a second.\n",
                frames.size(), seconds, static_cast<double>(frames.size()) / seconds);
  return text;
}

// What each column is, in the file's order.
std::string columns_text(const FramesGuess& guess) {
  const FramesLayout& layout = guess.layout;
  std::string text;
  for (std::size_t c = 1; c <= guess.sample.columns.size(); ++c) {
    const std::string& heading = guess.sample.columns[c - 1].heading;
    if (c == layout.data_first) {
      const bool one = layout.data_first == layout.data_last;
      const std::size_t last = std::min(layout.data_last, guess.sample.columns.size());
      text += column_line(
          c, last, heading,
          std::string(one ? "all bytes, " : "a byte each, ") + base_words(layout.data_base));
      c = last;
      continue;
    }
    std::string meaning = "not used";
    if (c == layout.table.time) meaning = time_words(layout.table.unit);
    if (c == layout.bus) meaning = "bus";
    if (c == layout.length) meaning = "number of bytes";
    if (c == layout.extended) meaning = "whether the identifier has 29 bits";
    if (c == layout.identifier) meaning = "identifier, " + base_words(layout.identifier_base);
    text += column_line(c, c, heading, meaning);
  }
  return text;
}

}  // namespace

std::string column_line(std::size_t first, std::size_t last, std::string_view heading,
                        const std::string& meaning) {
  std::string place = (first == last ? "  column " : "  columns ") + std::to_string(first);
  if (first != last) place += " to " + std::to_string(last);
  place.resize(std::max<std::size_t>(place.size(), 18), ' ');
  const std::string name = heading.empty() ? "" : '"' + shown(heading.substr(0, 24)) + "\": ";
  return place + ' ' + name + meaning + '\n';
}

std::string table_line(const TableLayout& table) {
  std::string text = "  between fields: " + std::string(separator_word(table.separator)) +
                     "; decimals: " + (table.decimal == ',' ? "comma" : "point");
  if (table.skip > 0) {
    text += "; before the first row: " + std::to_string(table.skip) +
            (table.skip == 1 ? " line" : " lines");
  }
  return text + '\n';
}

std::string time_words(LayoutTime unit) {
  switch (unit) {
    case LayoutTime::s:
      return "time in seconds";
    case LayoutTime::ms:
      return "time in milliseconds";
    case LayoutTime::us:
      return "time in microseconds";
    case LayoutTime::ns:
      return "time in nanoseconds";
    case LayoutTime::date:
      return "date and time";
  }
  return {};
}

Result<std::string> shown_guess(const std::filesystem::path& path, const FramesGuess& guess) {
  const auto file = open_frames_by_layout(path, guess.layout);
  if (!file) return file.error();
  const auto frames = (*file)->next_batch();
  if (!frames) return frames.error();
  std::string text = path.string() + " is another program's table. It looks like this:\n";
  text += table_line(guess.layout.table) + columns_text(guess);
  if (frames->empty()) return text;
  text += "Its first frames, read so:\n";
  for (std::size_t i = 0; i < std::min(frames->size(), most_shown); ++i) {
    text += frame_line((*frames)[i]);
  }
  text += rate_line(*frames);
  for (const std::string& doubt : guess.unsure) text += "Look twice: " + doubt + ".\n";
  return text;
}

}  // namespace foundling
