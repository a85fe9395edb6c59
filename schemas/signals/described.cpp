#include "schemas/signals/described.h"

#include "schemas/signals/encoding_words.h"
#include "schemas/signals/fact_text.h"
#include "schemas/signals/field.h"
#include "schemas/signals/where.h"

namespace foundling {
namespace {

std::string encoding_word(const SignalEntry& entry) {
  return to_string(entry.encoding) + (entry.words_swapped ? " swapped" : "");
}

// The fact's line without its keyword.
std::string behind_keyword(const fact::Fact& fact) {
  const std::string line = to_text(fact);
  const auto space = line.find(' ');
  return space == std::string::npos ? std::string() : line.substr(space + 1);
}

void say(Said& said, const std::string& what, std::string value) {
  if (!value.empty()) said[{what, {}}] = std::move(value);
}

void say_value(Said& said, const SignalEntry& entry) {
  if (!entry.table.empty()) {
    for (const TablePoint& point : entry.table) {
      said[{"point", shortest(point.raw)}] = shortest(point.value);
    }
  } else if (entry.states.empty() || entry.scale != 1 || entry.offset != 0) {
    say(said, "scale", shortest(entry.scale));
    say(said, "offset", shortest(entry.offset));
  }
  say(said, "unit", entry.unit);
}

Said where_of(const MessageEntry& message, const Field& field) {
  Said said;
  say(said, "message", message_name(message));
  if (field.page) {
    say(said, "page", to_string(field.page->selector) + " = " + std::to_string(field.page->value));
  }
  say(said, "bits", to_string(field.span));
  return said;
}

Said facts_of(const SignalEntry& entry) {
  Said said;
  say(said, "type", encoding_word(entry));
  say_value(said, entry);
  for (const StateWord& state : entry.states) {
    said[{"state", std::to_string(state.code)}] = quoted_if_needed(state.word);
  }
  for (const ReservedCode& code : entry.reserved) {
    said[{"reserved code", behind_keyword(ReservedCode{code.codes, "x"})}] = code.word;
  }
  say(said, "status", behind_keyword(fact::StatusLine{entry.status}));
  if (entry.delay_s != 0) say(said, "delay", shortest(entry.delay_s) + " s");
  if (entry.time_constant_s != 0) {
    say(said, "time constant", shortest(entry.time_constant_s) + " s");
  }
  for (const std::string& note : entry.notes) said[{"note", note}] = {};
  for (const Evidence& seen : entry.seen) said[{"evidence", behind_keyword(seen)}] = {};
  return said;
}

void describe_entry(const MessageEntry& message, const SignalEntry& entry,
                    std::vector<DescribedSignal>& out) {
  const std::int64_t first = entry.numbers ? entry.numbers->first : 0;
  const std::int64_t last = entry.numbers ? entry.numbers->last : 0;
  const auto facts = std::make_shared<const Said>(facts_of(entry));
  for (std::int64_t n = first; n <= last; ++n) {
    const auto field = field_of(message, entry, n);
    if (!field) continue;
    DescribedSignal& signal = out.emplace_back();
    signal.name = field->name;
    if (entry.numbers) signal.series = entry.name;
    signal.number = n;
    signal.where = where_of(message, *field);
    say(signal.where, "where", where_of(entry, n));
    signal.facts = facts;
    signal.place =
        message_name(message) + ' ' + to_string(field->span) + ' ' + encoding_word(entry);
    if (field->page) {
      signal.place += " on page " + to_string(field->page->selector) + " = ";
      signal.place += std::to_string(field->page->value);
    }
  }
}

}  // namespace

Said describe_map(const SignalMap& map) {
  Said said;
  say(said, "board", map.board);
  if (map.bit_rate != 0) say(said, "bit rate", std::to_string(map.bit_rate) + " bit/s");
  if (map.data_bit_rate != 0) {
    say(said, "data bit rate", std::to_string(map.data_bit_rate) + " bit/s");
  }
  for (const Pin& pin : map.pins) said[{"pin", pin.name}] = pin.text;
  for (const std::string& note : map.notes) said[{"note", note}] = {};
  return said;
}

Said describe_message(const MessageEntry& message) {
  Said said;
  if (message.period_ns != 0) {
    say(said, "period", shortest(static_cast<double>(message.period_ns) / 1e6) + " ms");
  }
  if (message.length) say(said, "length", std::to_string(*message.length) + " bytes");
  for (const Selector& selector : message.selectors) {
    said[{"selector", selector.name}] =
        behind_keyword(Selector{"x", selector.span, selector.values}).substr(2);
  }
  for (const Counter& counter : message.counters) {
    said[{"counter", to_string(counter.span)}] = behind_keyword(counter);
  }
  for (const Checksum& checksum : message.checksums) {
    said[{"checksum", to_string(checksum.span)}] = behind_keyword(checksum);
  }
  for (const Pin& pin : message.pins) said[{"pin", pin.name}] = pin.text;
  for (const std::string& note : message.notes) said[{"note", note}] = {};
  return said;
}

std::vector<DescribedSignal> describe_signals(const SignalMap& map) {
  std::vector<DescribedSignal> all;
  for (const MessageEntry& message : map.messages) {
    for (const SignalEntry& entry : message.signals) describe_entry(message, entry, all);
  }
  return all;
}

std::string message_name(const MessageEntry& message) {
  return to_text(fact::MessageHead{message.id, message.bus, 0, {}});
}

}  // namespace foundling
