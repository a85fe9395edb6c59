#include "tools/signal_list.h"

#include <algorithm>
#include <array>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <vector>

#include "decoder/report/text_table.h"
#include "schemas/signals/encoding_words.h"
#include "schemas/signals/fact_text.h"
#include "schemas/signals/status_word.h"
#include "schemas/signals/where.h"
#include "schemas/values/ucum.h"

namespace foundling {
namespace {

std::string identifier_text(CanId id) {
  std::array<char, 16> text{};
  const int length =
      std::snprintf(text.data(), text.size(), id.is_extended() ? "%08X" : "%03X", id.number());
  return {text.data(), static_cast<std::size_t>(length)};
}

const SignalEntry& entry_of(const SignalMap& map, const Field& field) {
  return map.messages[field.message].signals[field.entry];
}

std::string value_text(const SignalEntry& entry) {
  if (!entry.table.empty()) return to_text(fact::TableHead{entry.unit}).substr(8);
  const bool words_only = !entry.states.empty() && entry.scale == 1 && entry.offset == 0;
  if (words_only) {
    const std::size_t states = entry.states.size();
    return states == 1 ? "1 state" : std::to_string(states) + " states";
  }
  return to_text(fact::Linear{entry.scale, entry.offset, entry.unit}).substr(8);
}

std::vector<std::string> cells_of(const SignalMap& map, const Field& field, bool placed) {
  const MessageEntry& message = map.messages[field.message];
  const SignalEntry& entry = entry_of(map, field);
  std::string bits = to_string(field.span);
  if (entry.encoding != Encoding::unsigned_integer) bits += ' ' + to_string(entry.encoding);
  if (entry.words_swapped) bits += " swapped";
  std::vector<std::string> cells{field.name,
                                 std::string(status_word(entry.status)),
                                 identifier_text(message.id),
                                 field.page ? std::to_string(field.page->value) : "-",
                                 bits,
                                 value_text(entry)};
  if (placed) cells.push_back(where_of(entry, field.number.value_or(0)));
  return cells;
}

}  // namespace

std::string list_as_text(const SignalMap& map, std::size_t width) {
  const std::vector<Field> fields = fields_of(map);
  const bool placed = std::any_of(fields.begin(), fields.end(), [&](const Field& field) {
    return !where_of(entry_of(map, field), field.number.value_or(0)).empty();
  });
  std::vector<Column> columns{{"signal"}, {"status"}, {"message"}, {"page"}, {"bits"}, {"value"}};
  if (placed) columns.push_back({"where"});
  TextTable table(columns, width);
  for (const Field& field : fields) table.add(cells_of(map, field, placed));
  return table.text();
}

std::string list_as_json(const SignalMap& map) {
  nlohmann::json signals = nlohmann::json::array();
  for (const Field& field : fields_of(map)) {
    const MessageEntry& message = map.messages[field.message];
    const SignalEntry& entry = entry_of(map, field);
    nlohmann::json item{{"signal", field.name},
                        {"bus", message.bus},
                        {"identifier", message.id.number()},
                        {"extended", message.id.is_extended()},
                        {"selector", nullptr},
                        {"span", to_string(field.span)},
                        {"width", field.span.width()},
                        {"byte_order", to_string(field.span.order())},
                        {"signed", entry.encoding == Encoding::signed_integer},
                        {"float", entry.encoding == Encoding::ieee_float},
                        {"encoding", to_string(entry.encoding)},
                        {"words_swapped", entry.words_swapped},
                        {"scale", entry.scale},
                        {"offset", entry.offset},
                        {"unit", entry.unit},
                        {"delay_s", entry.delay_s + entry.time_constant_s},
                        {"states", nullptr},
                        {"status", status_word(entry.status)}};
    if (const auto ucum = ucum_code(entry.unit); !ucum.empty()) item["ucum"] = ucum;
    if (field.page) {
      item["selector"] = {{"span", to_string(field.page->selector)}, {"value", field.page->value}};
    }
    if (auto where = where_of(entry, field.number.value_or(0)); !where.empty()) {
      item["where"] = std::move(where);
    }
    for (const StateWord& state : entry.states) {
      item["states"][std::to_string(state.code)] = state.word;
    }
    if (!entry.table.empty()) {
      item["scale"] = nullptr;
      item["offset"] = nullptr;
      for (const TablePoint& point : entry.table) {
        item["table"].push_back({{"raw", point.raw}, {"value", point.value}});
      }
    }
    for (const ReservedCode& code : entry.reserved) {
      item["reserved"].push_back(
          {{"first", code.codes.first}, {"last", code.codes.last}, {"word", code.word}});
    }
    signals.push_back(std::move(item));
  }
  const nlohmann::json list{
      {"format", "foundling-signals"}, {"version", 1}, {"board", map.board}, {"signals", signals}};
  return list.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + '\n';
}

}  // namespace foundling
