#include "schemas/signals/write.h"

#include "schemas/signals/format.h"
#include "schemas/values/utf8.h"

namespace foundling {
namespace {

void add(std::vector<Node>& nodes, fact::Fact fact) {
  nodes.push_back({std::move(fact), {}, {}, {}, {}});
}

void add_note(std::vector<Node>& nodes, const std::string& note) {
  std::string text = one_line(note);
  if (!text.empty()) add(nodes, fact::Note{std::move(text)});
}

// A name or word must not be empty in the text.
std::string named(const std::string& text) {
  std::string line = one_line(text);
  return line.empty() ? "unnamed" : line;
}

void add_pins(std::vector<Node>& nodes, const std::vector<Pin>& pins) {
  for (const Pin& pin : pins) add(nodes, Pin{named(pin.name), named(pin.text)});
}

void add_value(std::vector<Node>& nodes, const SignalEntry& entry) {
  if (!entry.table.empty()) {
    add(nodes, fact::TableHead{one_line(entry.unit)});
    for (const TablePoint& point : entry.table) add(nodes, point);
  } else if (entry.scale != 1 || entry.offset != 0 || !entry.unit.empty()) {
    add(nodes, fact::Linear{entry.scale, entry.offset, one_line(entry.unit)});
  }
  for (const StateWord& state : entry.states) add(nodes, StateWord{state.code, named(state.word)});
  for (const ReservedCode& code : entry.reserved) {
    add(nodes, ReservedCode{code.codes, named(code.word)});
  }
}

}  // namespace

Node node_of(const SignalEntry& entry) {
  Node node;
  if (entry.numbers) {
    node.fact = fact::SeriesHead{named(entry.name), *entry.numbers};
  } else {
    node.fact = fact::SignalHead{named(entry.name)};
  }
  std::vector<Node>& lines = node.children;
  if (entry.page) add(lines, PageOf{named(entry.page->selector), entry.page->value});
  add(lines, fact::Bits{entry.span, entry.step, entry.encoding, entry.words_swapped});
  add_value(lines, entry);
  add(lines, fact::StatusLine{entry.status});
  if (entry.delay_s != 0) add(lines, fact::Delay{entry.delay_s});
  if (entry.time_constant_s != 0) add(lines, fact::TimeConstant{entry.time_constant_s});
  for (const PlaceWords& place : entry.places) {
    add(lines, PlaceWords{place.members, named(place.text)});
  }
  for (const std::string& note : entry.notes) add_note(lines, note);
  for (const Evidence& seen : entry.seen) {
    add(lines, Evidence{named(seen.source), seen.session, one_line(seen.text)});
  }
  return node;
}

Node node_of(const MessageEntry& message) {
  Node node;
  node.fact = fact::MessageHead{message.id, message.bus, message.period_ns, message.length};
  add_pins(node.children, message.pins);
  for (const std::string& note : message.notes) add_note(node.children, note);
  for (const Selector& selector : message.selectors) {
    Selector line = selector;
    line.name = named(selector.name);
    add(node.children, std::move(line));
  }
  for (const SignalEntry& entry : message.signals) node.children.push_back(node_of(entry));
  for (const Counter& counter : message.counters) add(node.children, counter);
  for (const Checksum& checksum : message.checksums) add(node.children, checksum);
  return node;
}

Document document_of(const SignalMap& map) {
  Document document;
  std::vector<Node>& nodes = document.nodes;
  if (!one_line(map.board).empty()) add(nodes, fact::Board{one_line(map.board)});
  if (map.bit_rate != 0) add(nodes, fact::BitRate{map.bit_rate, false});
  if (map.data_bit_rate != 0) add(nodes, fact::BitRate{map.data_bit_rate, true});
  add_pins(nodes, map.pins);
  for (const std::string& note : map.notes) add_note(nodes, note);
  for (const MessageEntry& message : map.messages) {
    if (!nodes.empty()) add(nodes, fact::Blank{});
    nodes.push_back(node_of(message));
  }
  return document;
}

std::string write_signals(const SignalMap& map) { return format(document_of(map)); }

}  // namespace foundling
