#include "tools/exchange/layout/readings_layout.h"

#include <algorithm>

#include "schemas/values/channel_name.h"
#include "schemas/values/shown_text.h"
#include "schemas/values/unit.h"

namespace foundling {
namespace {

Result<ReadingsLayout::Column> column_of(const LayoutItem& item, std::vector<std::size_t>& used) {
  if (item.size() < 4 || item.size() > 5) {
    return layout_error(item, "reading COLUMN CHANNEL UNIT");
  }
  const auto number = layout_column(item, item[1], used);
  if (!number) return number.error();
  ReadingsLayout::Column column{*number, {item[2], item[3], ChannelKind::sample}};
  if (const std::string fault = fault_of_channel_name(item[2]); !fault.empty()) {
    return Error{ErrorCode::usage,
                 "layout: a channel's name " + fault + ", found \"" + item[2] + '"'};
  }
  if (shown(item[3]) != item[3]) return layout_error(item, "a unit that shows itself");
  if (const auto unit = known_unit(item[3])) column.channel.unit = *unit;
  if (item.size() == 4 || item[4] == "sample") return column;
  if (item[4] != "hold") return layout_error(item, "hold or sample");
  column.channel.kind = ChannelKind::hold;
  return column;
}

}  // namespace

Result<ReadingsLayout> parse_readings_layout(std::string_view words) {
  ReadingsLayout layout;
  std::vector<std::size_t> used;
  for (const LayoutItem& item : layout_items(words)) {
    const auto of_table = take_table_item(item, layout.table);
    if (!of_table) return of_table.error();
    if (*of_table) continue;
    if (item.front() != "reading") {
      return layout_error(item, "separator, decimal, skip, time or reading");
    }
    auto column = column_of(item, used);
    if (!column) return column.error();
    const bool twice = std::ranges::any_of(layout.columns, [&](const auto& other) {
      return other.channel.name == column->channel.name;
    });
    if (twice) return layout_error(item, "a channel that is not named yet");
    layout.columns.push_back(std::move(column).value());
  }
  if (auto fine = check_table_layout(layout.table); !fine) return fine.error();
  if (layout.columns.empty()) {
    return Error{ErrorCode::usage,
                 "layout: it does not say where readings are: reading COLUMN CHANNEL UNIT"};
  }
  return layout;
}

std::string readings_layout_words(const ReadingsLayout& layout) {
  std::string words = table_layout_words(layout.table);
  for (const ReadingsLayout::Column& column : layout.columns) {
    words += ", reading " + std::to_string(column.number) + ' ' + column.channel.name + ' ' +
             column.channel.unit;
    if (column.channel.kind == ChannelKind::hold) words += " hold";
  }
  return words;
}

}  // namespace foundling
