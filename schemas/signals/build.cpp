#include "schemas/signals/build.h"

#include <set>
#include <string>

#include "schemas/signals/fact_text.h"

namespace foundling {
namespace {

using Diagnostics = std::vector<Diagnostic>;

void error(Diagnostics& out, const TextPlace& place, std::string message, std::string hint = {}) {
  out.push_back({Severity::error, place, std::move(message), std::move(hint)});
}

// Lines of which there may be one: the second is reported.
class Once {
 public:
  explicit Once(Diagnostics& diagnostics) : diagnostics_(diagnostics) {}
  void said(const Node& node, const std::string& what) {
    if (!seen_.insert(what).second) {
      error(diagnostics_, node.place, "expected one line with " + what + ", found a second");
    }
  }

 private:
  Diagnostics& diagnostics_;
  std::set<std::string> seen_;
};

// Takes the facts of one signal, line by line.
struct SignalTaker {
  SignalEntry& entry;
  const Node& node;
  Once& once;

  void operator()(const PageOf& f) const {
    once.said(node, "the page");
    entry.page = f;
  }
  void operator()(const fact::Bits& f) const {
    once.said(node, "bits");
    entry.span = f.span;
    entry.step = f.step;
    entry.encoding = f.encoding;
    entry.words_swapped = f.words_swapped;
  }
  void operator()(const fact::Linear& f) const {
    once.said(node, "a value");
    entry.scale = f.scale;
    entry.offset = f.offset;
    entry.unit = f.unit;
  }
  void operator()(const fact::TableHead& f) const {
    once.said(node, "a value");
    entry.unit = f.unit;
  }
  void operator()(const TablePoint& f) const { entry.table.push_back(f); }
  void operator()(const StateWord& f) const { entry.states.push_back(f); }
  void operator()(const ReservedCode& f) const { entry.reserved.push_back(f); }
  void operator()(const fact::StatusLine& f) const {
    once.said(node, "a status");
    entry.status = f.status;
  }
  void operator()(const fact::Delay& f) const {
    once.said(node, "a delay");
    entry.delay_s = f.seconds;
  }
  void operator()(const fact::TimeConstant& f) const {
    once.said(node, "a time constant");
    entry.time_constant_s = f.seconds;
  }
  void operator()(const PlaceWords& f) const {
    once.said(node, f.members ? "where from member " + std::to_string(f.members->first) : "where");
    entry.places.push_back(f);
  }
  void operator()(const fact::Note& f) const { entry.notes.push_back(f.text); }
  void operator()(const Evidence& f) const { entry.seen.push_back(f); }
  template <typename Other>
  void operator()(const Other& /*not about a signal*/) const {}
};

template <typename Wanted>
const Node* find_fact(const Node& node) {
  for (const Node& child : node.children) {
    if (std::holds_alternative<Wanted>(child.fact)) return &child;
  }
  return nullptr;
}

// Members are those of the series around them.
void check_places(const Node& node, const SignalEntry& entry, Diagnostics& out) {
  for (const Node& line : node.children) {
    const auto* const place = std::get_if<PlaceWords>(&line.fact);
    if (place == nullptr || !place->members) continue;
    if (!entry.numbers) {
      error(out, line.operand, "expected words in quotes in a signal, found a member's number",
            "only a series has members");
      continue;
    }
    const auto first = static_cast<std::uint64_t>(entry.numbers->first);
    const auto last = static_cast<std::uint64_t>(entry.numbers->last);
    if (place->members->first >= first && place->members->last <= last) continue;
    error(out, line.operand,
          "expected members within " + std::to_string(first) + ".." + std::to_string(last) +
              ", found " + to_text(line.fact).substr(6, to_text(line.fact).find(" \"") - 6));
  }
}

// Lines that need each other: bits always, points and their table, a formula and its series.
void check_signal(const Node& node, const SignalEntry& entry, Diagnostics& out) {
  const Node* bits = find_fact<fact::Bits>(node);
  const Node* table = find_fact<fact::TableHead>(node);
  const Node* point = find_fact<TablePoint>(node);
  const Node* page = find_fact<PageOf>(node);
  if (bits == nullptr) {
    error(out, node.operand, "expected a line with bits below, found none",
          "add a line such as: bits 2.7..3.0");
  }
  if (table != nullptr && entry.table.size() < 2) {
    error(
        out, table->operand,
        "expected two points or more below the table, found " + std::to_string(entry.table.size()),
        "add lines such as: point 0 = -40");
  }
  if (table == nullptr && point != nullptr) {
    error(out, point->place, "expected 'value = table' before a point, found none");
  }
  if (entry.numbers) return;
  if (entry.step) {
    error(out, bits->operand, "expected plain bits in a signal, found a formula of n",
          "only a series has a formula");
  }
  if (page != nullptr && entry.page->value.times != 0) {
    error(out, page->operand, "expected a page number in a signal, found a formula of n",
          "only a series has a formula");
  }
}

struct MessageTaker {
  MessageEntry& message;
  const Node& node;
  Once& once;
  Diagnostics& diagnostics;

  void operator()(const Selector& f) const { message.selectors.push_back(f); }
  void operator()(const Counter& f) const { message.counters.push_back(f); }
  void operator()(const Checksum& f) const { message.checksums.push_back(f); }
  void operator()(const fact::Note& f) const { message.notes.push_back(f.text); }
  void operator()(const Pin& f) const {
    once.said(node, "pin " + f.name);
    message.pins.push_back(f);
  }
  void operator()(const fact::SignalHead& /*f*/) const {
    message.signals.push_back(build_signal(node, diagnostics));
  }
  void operator()(const fact::SeriesHead& /*f*/) const {
    message.signals.push_back(build_signal(node, diagnostics));
  }
  template <typename Other>
  void operator()(const Other& /*not about a message*/) const {}
};

struct MapTaker {
  SignalMap& map;
  const Node& node;
  Once& once;
  Diagnostics& diagnostics;

  void operator()(const fact::Board& f) const {
    once.said(node, "the board");
    map.board = f.name;
  }
  void operator()(const fact::BitRate& f) const {
    once.said(node, f.data ? "a data bit rate" : "a bit rate");
    (f.data ? map.data_bit_rate : map.bit_rate) = f.rate;
  }
  void operator()(const fact::Note& f) const { map.notes.push_back(f.text); }
  void operator()(const Pin& f) const {
    once.said(node, "pin " + f.name);
    map.pins.push_back(f);
  }
  void operator()(const fact::MessageHead& f) const {
    MessageEntry& message = map.messages.emplace_back();
    message.id = f.id;
    message.bus = f.bus;
    message.period_ns = f.period_ns;
    message.length = f.length;
    Once in_message(diagnostics);
    for (const Node& child : node.children) {
      std::visit(MessageTaker{message, child, in_message, diagnostics}, child.fact);
    }
  }
  template <typename Other>
  void operator()(const Other& /*comments and blank lines*/) const {}
};

}  // namespace

SignalEntry build_signal(const Node& node, std::vector<Diagnostic>& diagnostics) {
  SignalEntry entry;
  if (const auto* signal = std::get_if<fact::SignalHead>(&node.fact)) entry.name = signal->name;
  if (const auto* series = std::get_if<fact::SeriesHead>(&node.fact)) {
    entry.name = series->name;
    entry.numbers = series->numbers;
  }
  Once once(diagnostics);
  for (const Node& child : node.children) {
    std::visit(SignalTaker{entry, child, once}, child.fact);
  }
  check_signal(node, entry, diagnostics);
  check_places(node, entry, diagnostics);
  return entry;
}

Built build_map(const Document& document) {
  Built built;
  Once once(built.diagnostics);
  for (const Node& node : document.nodes) {
    std::visit(MapTaker{built.map, node, once, built.diagnostics}, node.fact);
  }
  return built;
}

}  // namespace foundling
