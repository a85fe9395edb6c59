// Readings out of another program's table.
#include "schemas/values/channel_name.h"
#include "schemas/values/unit.h"
#include "tools/exchange/csv_table.h"
#include "tools/exchange/layout/delimited_line.h"
#include "tools/exchange/layout/readings_layout.h"
#include "tools/exchange/number_text.h"
#include "tools/exchange/text_lines.h"

namespace foundling {
namespace {

class ReadingsByLayout {
 public:
  ReadingsByLayout(TextLines lines, const ReadingsLayout& layout)
      : lines_(std::move(lines)), layout_(layout) {
    for (const auto& column : layout.columns) file_.channels.push_back({column.channel, {}});
  }

  Result<StimulusFile> read() {
    for (;;) {
      const auto line = lines_.next();
      if (!line) return line.error();
      if (!*line) break;
      line_ = **line;
      if (lines_.number() <= layout_.table.skip) continue;
      const auto fields = fields_of(line_, layout_.table.separator);
      if (fields.empty() || (fields.size() == 1 && fields[0].empty())) continue;
      if (auto taken = take(fields); !taken) return taken.error();
    }
    if (rounded_ > 0) {
      file_.remarks.push_back(std::to_string(rounded_) +
                              " stimulus times had digits below the nanosecond; they were rounded");
    }
    for (const auto& series : file_.channels) {
      if (known_unit(series.channel.unit)) continue;
      file_.remarks.push_back("unit \"" + series.channel.unit +
                              "\" is not known; it is kept as text");
    }
    return std::move(file_);
  }

 private:
  [[nodiscard]] Error error(std::string_view field, const std::string& problem) const {
    return table_error(lines_.name(), lines_.number(), line_, field, problem);
  }

  Result<void> take(const std::vector<std::string_view>& fields) {
    if (layout_.table.time > fields.size()) {
      return error(line_.substr(line_.size()), "expected a column " +
                                                   std::to_string(layout_.table.time) + ", found " +
                                                   std::to_string(fields.size()) + " columns");
    }
    const std::string_view stamp = fields[layout_.table.time - 1];
    const auto time = layout_time(stamp, layout_.table);
    if (!time) return error(stamp, time_expected(layout_.table.unit) + found_field(stamp));
    rounded_ += time->rounded ? 1U : 0U;
    for (std::size_t i = 0; i < layout_.columns.size(); ++i) {
      const auto& column = layout_.columns[i];
      if (column.number > fields.size()) continue;
      const std::string_view text = fields[column.number - 1];
      if (text.empty()) continue;
      Reading reading;
      reading.t_ns = time->ns;
      if (auto read = read_value(text, column.channel, reading); !read) return read;
      file_.channels[i].readings.push_back(std::move(reading));
    }
    return {};
  }

  Result<void> read_value(std::string_view text, const Channel& channel, Reading& reading) const {
    if (channel.is_state()) {
      const std::string fault = fault_of_state(text);
      if (!fault.empty()) return error(text, "the word of a state " + fault + found_field(text));
      reading.state = text;
      return {};
    }
    const auto value = parse_number(pointed(text, layout_.table.decimal));
    if (!value) return error(text, "expected a number" + found_field(text));
    reading.value = *value;
    return {};
  }

  TextLines lines_;
  const ReadingsLayout& layout_;
  StimulusFile file_;
  std::string_view line_;
  std::uint64_t rounded_ = 0;
};

}  // namespace

Result<StimulusFile> read_readings_by_layout(const std::filesystem::path& path,
                                             const ReadingsLayout& layout) {
  auto lines = TextLines::open(path);
  if (!lines) return lines.error();
  return ReadingsByLayout(std::move(lines).value(), layout).read();
}

}  // namespace foundling
