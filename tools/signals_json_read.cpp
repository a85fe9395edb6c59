#include <algorithm>
#include <array>
#include <limits>
#include <nlohmann/json.hpp>
#include <optional>
#include <span>

#include "schemas/signals/format.h"
#include "schemas/signals/read.h"
#include "schemas/signals/utf8.h"
#include "schemas/values/nearest_word.h"
#include "tools/signals_json.h"

namespace foundling {
namespace {

using Json = nlohmann::json;

// Reads the members of one object; the first trouble is kept, and what follows reads as zeros.
class Members {
 public:
  Members(const Json& object, std::string path, std::optional<std::string>& trouble)
      : object_(object), path_(std::move(path)), trouble_(trouble) {
    if (!object_.is_object()) say(path_, "an object");
  }

  std::string text(const char* name) {
    const Json* member = get(name);
    if (member == nullptr || !member->is_string()) return say_member(name, "text"), std::string();
    return member->get<std::string>();
  }
  double number(const char* name) {
    const Json* member = get(name);
    if (member == nullptr || !member->is_number()) return say_member(name, "a number"), 0;
    return member->get<double>();
  }
  std::int64_t integer(const char* name, std::int64_t low, std::int64_t high) {
    const Json* member = get(name);
    const bool whole = member != nullptr && member->is_number_integer() &&
                       !(member->is_number_unsigned() &&
                         member->get<std::uint64_t>() >
                             static_cast<std::uint64_t>(std::numeric_limits<std::int64_t>::max()));
    const std::int64_t value = whole ? member->get<std::int64_t>() : 0;
    if (whole && value >= low && value <= high) return value;
    say_member(name, "a whole number from " + std::to_string(low) + " to " + std::to_string(high));
    return low;
  }
  std::uint64_t code(const char* name) {
    const Json* member = get(name);
    if (member != nullptr && member->is_number_unsigned()) return member->get<std::uint64_t>();
    return say_member(name, "a whole number from 0"), 0;
  }
  bool flag(const char* name) {
    const Json* member = get(name);
    if (member == nullptr || !member->is_boolean()) return say_member(name, "true or false"), false;
    return member->get<bool>();
  }
  Span span(const char* name) {
    const auto span = parse_span(text(name));
    if (!span) say_member(name, "bits, such as \"2.7..3.0\"");
    return span.value_or(Span{});
  }
  // The word's number in `words`.
  int choice(const char* name, std::span<const std::string> words) {
    const std::string word = text(name);
    const auto at = std::ranges::find(words, word);
    if (at != words.end()) return static_cast<int>(at - words.begin());
    std::string all;
    for (const std::string& one : words) all += (all.empty() ? "" : ", ") + one;
    const auto near = nearest_word(word, words);
    say_member(name, "one of " + all + (near ? " (did you mean '" + *near + "'?)" : ""));
    return 0;
  }
  [[nodiscard]] bool has(const char* name) const {
    return object_.is_object() && object_.contains(name) && !object_[name].is_null();
  }
  Members object(const char* name) {
    static const Json nothing = Json::object();
    const Json* member = get(name);
    return {member == nullptr ? nothing : *member, path_ + '.' + name, trouble_};
  }
  std::vector<Members> list(const char* name) {
    std::vector<Members> items;
    const Json* member = get(name);
    if (member == nullptr || !member->is_array()) return say_member(name, "a list"), items;
    for (std::size_t i = 0; i < member->size(); ++i) {
      items.emplace_back((*member)[i], path_ + '.' + name + '[' + std::to_string(i) + ']',
                         trouble_);
    }
    return items;
  }

 private:
  const Json* get(const char* name) const {
    if (!object_.is_object()) return nullptr;
    const auto at = object_.find(name);
    return at == object_.end() ? nullptr : &*at;
  }
  void say_member(const char* name, const std::string& expected) {
    const Json* member = get(name);
    say(path_ + '.' + name, expected + ", found " + shown(member));
  }
  // Lists and objects are not spelt out: they may be nested deeper than the stack is.
  static std::string shown(const Json* member) {
    if (member == nullptr) return "nothing";
    if (member->is_array()) return "a list";
    if (member->is_object()) return "an object";
    const std::string text = member->dump(-1, ' ', false, Json::error_handler_t::replace);
    return text.size() <= 60 ? text : std::string(first_bytes(text, 60)) + "...";
  }
  void say(const std::string& path, const std::string& expected) {
    if (trouble_) return;
    const auto start = path.find_first_not_of('.');
    trouble_ =
        (start == std::string::npos ? "the whole" : path.substr(start)) + ": expected " + expected;
  }

  const Json& object_;
  std::string path_;
  std::optional<std::string>& trouble_;
};

constexpr std::int64_t most = std::numeric_limits<std::int64_t>::max();
constexpr std::int64_t formula_most = 0xFFFFFFFF;

CodeRange read_range(Members& in) { return {in.code("first"), in.code("last")}; }

IndexFormula read_formula(Members in) {
  static const std::array<std::string, 3> operations{"whole", "div", "mod"};
  IndexFormula formula;
  formula.base = in.integer("base", 0, formula_most);
  formula.from = in.integer("from", -1'000'000, 1'000'000);
  formula.operation = static_cast<IndexFormula::Operation>(in.choice("operation", operations));
  formula.by = in.integer("by", 1, 1'000'000);
  formula.times = in.integer("times", -formula_most, formula_most);
  return formula;
}

fact::Fact read_message(Members& in) {
  fact::MessageHead head;
  const bool extended = in.flag("extended");
  const auto id =
      static_cast<std::uint32_t>(in.integer("identifier", 0, extended ? 0x1FFFFFFF : 0x7FF));
  head.id = extended ? CanId::extended(id) : CanId::standard(id);
  head.bus = static_cast<std::uint8_t>(in.integer("bus", 0, 255));
  head.period_ns = in.integer("period_ns", 0, 1'000'000'000'000'000);
  if (in.has("length")) head.length = static_cast<int>(in.integer("length", 0, 64));
  return head;
}

fact::Fact read_selector(Members& in) {
  Selector selector{in.text("name"), in.span("span"), {}};
  for (Members& range : in.list("values")) selector.values.push_back(read_range(range));
  return selector;
}

fact::Fact read_checksum(Members& in) {
  Checksum checksum;
  checksum.span = in.span("span");
  checksum.kind = in.text("method");
  checksum.polynomial = in.text("polynomial");
  if (in.has("initial")) checksum.initial = in.code("initial");
  if (in.has("final")) checksum.final_xor = in.code("final");
  checksum.reflected = in.flag("reflected");
  checksum.includes_identifier = in.flag("identifier");
  if (in.has("bytes")) {
    Members bytes = in.object("bytes");
    checksum.bytes = read_range(bytes);
  }
  return checksum;
}

fact::Fact read_series(Members& in) {
  fact::SeriesHead head{in.text("name"), {}};
  head.numbers.first = in.integer("first", 0, 1'000'000);
  head.numbers.last = in.integer("last", 0, 1'000'000);
  head.numbers.digits = static_cast<int>(in.integer("digits", 1, 9));
  return head;
}

fact::Fact read_bits(Members& in) {
  static const std::array<std::string, 3> encodings{"unsigned", "signed", "float"};
  fact::Bits bits;
  bits.span = in.span("span");
  bits.encoding = static_cast<Encoding>(in.choice("encoding", encodings));
  if (in.has("step")) {
    Members step = in.object("step");
    bits.step = SpanStep{read_formula(step.object("bits")), step.flag("big")};
  }
  return bits;
}

fact::Fact read_status(Members& in) {
  static const std::array<std::string, 3> statuses{"proposed", "confirmed", "refuted"};
  return fact::StatusLine{static_cast<Status>(in.choice("status", statuses))};
}

struct Reader {
  std::string kind;
  fact::Fact (*read)(Members&);
};

std::span<const Reader> readers() {
  using fact::Fact;
  static const std::vector<Reader> table{
      {"blank", [](Members& /*in*/) -> Fact { return fact::Blank{}; }},
      {"comment", [](Members& in) -> Fact { return fact::Comment{in.text("text")}; }},
      {"board", [](Members& in) -> Fact { return fact::Board{in.text("name")}; }},
      {"bit-rate",
       [](Members& in) -> Fact {
         return fact::BitRate{in.integer("rate", 1, most), false};
       }},
      {"data-bit-rate",
       [](Members& in) -> Fact {
         return fact::BitRate{in.integer("rate", 1, most), true};
       }},
      {"note", [](Members& in) -> Fact { return fact::Note{in.text("text")}; }},
      {"message", read_message},
      {"selector", read_selector},
      {"counter",
       [](Members& in) -> Fact {
         return Counter{in.span("span"), in.code("modulus"), in.integer("step", -most, most)};
       }},
      {"checksum", read_checksum},
      {"signal", [](Members& in) -> Fact { return fact::SignalHead{in.text("name")}; }},
      {"series", read_series},
      {"on",
       [](Members& in) -> Fact {
         return PageOf{in.text("selector"), read_formula(in.object("value"))};
       }},
      {"bits", read_bits},
      {"value",
       [](Members& in) -> Fact {
         return fact::Linear{in.number("scale"), in.number("offset"), in.text("unit")};
       }},
      {"table", [](Members& in) -> Fact { return fact::TableHead{in.text("unit")}; }},
      {"point",
       [](Members& in) -> Fact {
         return TablePoint{in.number("raw"), in.number("value")};
       }},
      {"state",
       [](Members& in) -> Fact {
         return StateWord{in.code("code"), in.text("word")};
       }},
      {"reserved",
       [](Members& in) -> Fact {
         return ReservedCode{read_range(in), in.text("word")};
       }},
      {"status", read_status},
      {"delay", [](Members& in) -> Fact { return fact::Delay{in.number("seconds")}; }},
      {"time-constant",
       [](Members& in) -> Fact { return fact::TimeConstant{in.number("seconds")}; }},
      {"seen",
       [](Members& in) -> Fact {
         return Evidence{in.text("source"), in.integer("session", 0, most), in.text("text")};
       }},
  };
  return table;
}

std::vector<Node> read_lines(Members& parent, int level) {
  static const std::vector<std::string> kinds = [] {
    std::vector<std::string> all;
    for (const Reader& reader : readers()) all.push_back(reader.kind);
    return all;
  }();
  std::vector<Node> nodes;
  for (Members& in : parent.list("lines")) {
    Node& node = nodes.emplace_back();
    node.fact = readers()[static_cast<std::size_t>(in.choice("kind", kinds))].read(in);
    if (in.has("comment")) node.comment = in.text("comment");
    if (in.has("lines") && level < 2) node.children = read_lines(in, level + 1);
  }
  return nodes;
}

std::string line_and_column(std::string_view text, std::size_t byte) {
  const std::string_view before = text.substr(0, std::min(byte == 0 ? 0 : byte - 1, text.size()));
  const auto line = std::ranges::count(before, '\n') + 1;
  const auto start = before.rfind('\n');
  const auto column = before.size() - (start == std::string_view::npos ? 0 : start + 1) + 1;
  return std::to_string(line) + ':' + std::to_string(column);
}

}  // namespace

Result<Document> document_from_json(std::string_view text, const std::string& name) {
  const auto wrong = [&name](const std::string& what) {
    return Error{ErrorCode::format, name + ": " + what};
  };
  Json json;
  try {
    json = Json::parse(text);
  } catch (const Json::parse_error& error) {
    return Error{ErrorCode::format,
                 name + ':' + line_and_column(text, error.byte) + ": expected JSON, found none"};
  }
  std::optional<std::string> trouble;
  Members top(json, "", trouble);
  if (top.text("format") != "foundling-map") {
    return wrong(R"(expected a map as JSON ("format": "foundling-map"), found something else)");
  }
  if (top.integer("version", 0, most) != 1) {
    return wrong(
        "expected version 1 of the JSON form; this may need a newer version of the "
        "program");
  }
  Document document;
  if (top.has("comment")) document.header_comment = top.text("comment");
  document.nodes = read_lines(top, 0);
  if (trouble) return wrong(*trouble);
  // What the text cannot say (a line end in a note, a signal outside a message) is no map.
  const std::string written = format(document);
  const SignalText read = read_signals(written);
  if (!read.ok()) {
    return wrong("says what no signal map can; as text it has these faults:\n" +
                 describe(read.diagnostics, name + " as text", written));
  }
  if (!(read.document == document)) {
    return wrong("says what no signal map can: as text it would read otherwise");
  }
  return document;
}

}  // namespace foundling
