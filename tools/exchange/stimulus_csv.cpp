#include "tools/exchange/stimulus_csv.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <set>

#include "schemas/values/channel_name.h"
#include "schemas/values/shown_text.h"
#include "schemas/values/table_cell.h"
#include "schemas/values/unit.h"
#include "tools/exchange/csv_table.h"
#include "tools/exchange/decimal_seconds.h"
#include "tools/exchange/number_text.h"

namespace foundling {
namespace {

constexpr std::array<std::string_view, 7> columns = {"time_s",      "channel", "unit",      "value",
                                                     "uncertainty", "kind",    "earliest_s"};
constexpr std::size_t required = 4;

// Written by hand as often as by a program: blanks around a field mean nothing.
std::string_view trimmed(std::string_view field) {
  while (!field.empty() && (field.front() == ' ' || field.front() == '\t')) field.remove_prefix(1);
  while (!field.empty() && (field.back() == ' ' || field.back() == '\t')) field.remove_suffix(1);
  return field;
}

const char* to_text(ChannelKind kind) { return kind == ChannelKind::hold ? "hold" : "sample"; }

class StimulusReader {
 public:
  StimulusReader(CsvTable table, const std::vector<Channel>& known, const TimeFault& fault_of_time)
      : table_(std::move(table)), fault_of_time_(fault_of_time) {
    for (const Channel& channel : known) known_.emplace(channel.name, channel);
  }

  Result<StimulusFile> read() {
    for (;;) {
      const auto row = table_.next();
      if (!row) return row.error();
      if (!*row) break;
      if (auto taken = take(**row); !taken) return taken.error();
    }
    if (rounded_ > 0) {
      file_.remarks.push_back(std::to_string(rounded_) +
                              " stimulus times had digits below the nanosecond; they were rounded");
    }
    for (const std::string& unit : unknown_units_) {
      file_.remarks.push_back("unit \"" + unit + "\" is not known; it is kept as text");
    }
    return std::move(file_);
  }

 private:
  Result<void> take(CsvTable::Row row) {
    for (std::string_view& field : row) field = without_guard(trimmed(field));
    const auto time = parse_seconds(row[0]);
    if (!time) return table_.error(row[0], "expected seconds like 12.5" + found_field(row[0]));
    rounded_ += time->rounded ? 1U : 0U;
    auto series = channel_of(row);
    if (!series) return series.error();
    if (fault_of_time_) {
      const std::string fault = fault_of_time_(time->ns, (*series)->channel.kind);
      if (!fault.empty()) return table_.error(row[0], fault);
    }
    Reading reading;
    reading.t_ns = time->ns;
    if (auto read = read_earliest(row, reading); !read) return read;
    const bool is_state = (*series)->channel.is_state();
    auto read = is_state ? read_state(row[3], reading) : read_number(row, **series, reading);
    if (!read) return read;
    (*series)->readings.push_back(std::move(reading));
    return {};
  }

  Result<void> read_earliest(const CsvTable::Row& row, Reading& reading) {
    if (row[6].empty()) return {};
    const auto earliest = parse_seconds(row[6]);
    if (!earliest) return table_.error(row[6], "expected seconds like 12.5" + found_field(row[6]));
    if (earliest->ns > reading.t_ns) {
      return table_.error(row[6], "expected a time that is not after time_s" + found_field(row[6]));
    }
    rounded_ += earliest->rounded ? 1U : 0U;
    if (fault_of_time_) {
      // Whatever the channel's kind, it may have been asked for before the recording began.
      const std::string fault = fault_of_time_(earliest->ns, ChannelKind::hold);
      if (!fault.empty()) return table_.error(row[6], fault);
    }
    reading.earliest_ns = earliest->ns;
    return {};
  }

  Result<void> read_state(std::string_view word, Reading& reading) {
    const std::string fault = fault_of_state(word);
    if (!fault.empty())
      return table_.error(word, "the word of a state " + fault + found_field(word));
    reading.state = word;
    return {};
  }

  Result<void> read_number(const CsvTable::Row& row, const ChannelSeries& series,
                           Reading& reading) {
    const auto value = parse_number(row[3]);
    if (!value) return table_.error(row[3], "expected a number" + found_field(row[3]));
    const auto conversion = unit_conversion(row[2], series.channel.unit);
    reading.value = conversion->value(*value);
    if (!std::isfinite(reading.value)) {
      return table_.error(row[3],
                          "too large a number in " + series.channel.unit + found_field(row[3]));
    }
    if (row[4].empty()) return {};
    const auto uncertainty = parse_number(row[4]);
    if (!uncertainty || *uncertainty < 0) {
      return table_.error(row[4],
                          "expected a standard uncertainty of 0 or more" + found_field(row[4]));
    }
    reading.uncertainty = conversion->uncertainty(*uncertainty);
    if (!std::isfinite(reading.uncertainty)) {
      return table_.error(
          row[4], "too large an uncertainty in " + series.channel.unit + found_field(row[4]));
    }
    return {};
  }

  // The row's channel, new or agreeing with what it was before.
  Result<ChannelSeries*> channel_of(const CsvTable::Row& row) {
    const std::string fault = fault_of_channel_name(row[1]);
    if (!fault.empty())
      return table_.error(row[1], "a channel's name " + fault + found_field(row[1]));
    if (row[2].empty()) {
      return table_.error(row[2], "expected a unit, or state for words, found nothing");
    }
    if (shown(row[2]) != row[2]) {
      return table_.error(row[2],
                          "expected a unit that is UTF-8 and shows itself" + found_field(row[2]));
    }
    std::optional<ChannelKind> kind;
    if (row[5] == "hold") kind = ChannelKind::hold;
    if (row[5] == "sample") kind = ChannelKind::sample;
    if (!kind && !row[5].empty()) {
      return table_.error(row[5], "expected hold or sample" + found_field(row[5]));
    }
    auto place = index_.find(row[1]);
    if (place == index_.end()) place = add_channel(row, kind);
    ChannelSeries& series = file_.channels[place->second];
    if (kind && *kind != series.channel.kind) {
      return table_.error(row[5], "channel " + series.channel.name + " was of kind " +
                                      to_text(series.channel.kind) + " before" +
                                      found_field(row[5]));
    }
    if (!unit_conversion(row[2], series.channel.unit)) {
      return table_.error(row[2], "channel " + series.channel.name + " was in " +
                                      series.channel.unit + " before" + found_field(row[2]));
    }
    return &series;
  }

  using Index = std::map<std::string, std::size_t, std::less<>>;

  Index::iterator add_channel(const CsvTable::Row& row, std::optional<ChannelKind> kind) {
    Channel channel;
    const auto before = known_.find(row[1]);
    if (before != known_.end()) {
      channel = before->second;
    } else {
      channel.name = row[1];
      channel.unit = known_unit(row[2]).value_or(row[2]);
      channel.kind = kind.value_or(ChannelKind::hold);
      if (!known_unit(row[2])) unknown_units_.insert(channel.unit);
    }
    file_.channels.push_back({std::move(channel), {}});
    return index_.emplace(std::string(row[1]), file_.channels.size() - 1).first;
  }

  CsvTable table_;
  const TimeFault& fault_of_time_;
  StimulusFile file_;
  Index index_;
  std::map<std::string, Channel, std::less<>> known_;
  std::set<std::string> unknown_units_;
  std::uint64_t rounded_ = 0;
};

}  // namespace

Result<StimulusFile> read_stimulus_csv(const std::filesystem::path& path,
                                       const std::vector<Channel>& known,
                                       const TimeFault& fault_of_time) {
  auto table = CsvTable::open(path, {columns, required});
  if (!table) return table.error();
  return StimulusReader(std::move(table).value(), known, fault_of_time).read();
}

void append_stimulus_csv(std::string& text, const std::vector<ChannelSeries>& channels,
                         std::int64_t origin_ns) {
  struct Line {
    const Channel* channel;
    const Reading* reading;
  };
  std::vector<Line> lines;
  for (const ChannelSeries& series : channels) {
    for (const Reading& reading : series.readings) lines.push_back({&series.channel, &reading});
  }
  // Channels come by name and each in order of time, so a stable sort keeps both.
  std::stable_sort(lines.begin(), lines.end(),
                   [](const Line& a, const Line& b) { return a.reading->t_ns < b.reading->t_ns; });
  const bool any_earliest = std::any_of(lines.begin(), lines.end(), [](const Line& line) {
    return line.reading->earliest_ns != Reading::no_time;
  });
  text += "time_s,channel,unit,value,uncertainty,kind";
  text += any_earliest ? ",earliest_s\n" : "\n";
  for (const Line& line : lines) {
    append_seconds(text, origin_ns + line.reading->t_ns);
    text += ',' + bare_cell(line.channel->name) + ',' + bare_cell(line.channel->unit) + ',';
    text += line.channel->is_state() ? bare_cell(line.reading->state)
                                     : shortest_number(line.reading->value);
    text += ',';
    const double uncertainty = line.reading->uncertainty;
    if (!line.channel->is_state() && uncertainty == uncertainty)
      text += shortest_number(uncertainty);
    text += std::string(",") + to_text(line.channel->kind);
    if (any_earliest) text += ',';
    if (line.reading->earliest_ns != Reading::no_time) {
      append_seconds(text, origin_ns + line.reading->earliest_ns);
    }
    text += '\n';
  }
}

}  // namespace foundling
