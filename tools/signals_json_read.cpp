#include <array>
#include <limits>
#include <nlohmann/json.hpp>
#include <optional>
#include <span>

#include "decoder/report/json_members.h"
#include "schemas/signals/encoding_words.h"
#include "schemas/signals/format.h"
#include "schemas/signals/read.h"
#include "schemas/values/payload_id.h"
#include "tools/signals_json.h"

namespace foundling {
namespace {

constexpr std::int64_t most = std::numeric_limits<std::int64_t>::max();
constexpr std::int64_t formula_most = 0xFFFFFFFF;

CodeRange read_range(JsonMembers& in) { return {in.code("first"), in.code("last")}; }

IndexFormula read_formula(JsonMembers in) {
  static const std::array<std::string, 3> operations{"whole", "div", "mod"};
  IndexFormula formula;
  formula.base = in.integer("base", 0, formula_most);
  formula.from = in.integer("from", -1'000'000, 1'000'000);
  formula.operation = static_cast<IndexFormula::Operation>(in.choice("operation", operations));
  formula.by = in.integer("by", 1, 1'000'000);
  formula.times = in.integer("times", -formula_most, formula_most);
  return formula;
}

fact::Fact read_message(JsonMembers& in) {
  fact::MessageHead head;
  const bool extended = in.flag("extended");
  const auto id =
      static_cast<std::uint32_t>(in.integer("identifier", 0, extended ? 0x1FFFFFFF : 0x7FF));
  head.id = extended ? CanId::extended(id) : CanId::standard(id);
  head.bus = static_cast<std::uint8_t>(in.integer("bus", 0, 255));
  head.period_ns = in.integer("period_ns", 0, 1'000'000'000'000'000);
  if (in.has("length")) {
    head.length = static_cast<int>(
        in.integer("length", 0, in.has("transport") ? longest_payload : longest_frame));
  }
  if (in.has("transport")) {
    static const std::array<std::string, 1> kinds{"segments"};
    JsonMembers transport = in.object("transport");
    (void)transport.choice("kind", kinds);
    Transport carried{Transport::Kind::segments, 0};
    if (transport.has("address") && !extended) {
      carried = {Transport::Kind::addressed_segments,
                 static_cast<std::uint8_t>(transport.integer("address", 0, 255))};
    } else if (transport.has("address")) {
      transport.refuse("address", "null, as the identifier has 29 bits");
    }
    head.id = payload_id(head.id, carried);
  }
  return head;
}

fact::Fact read_selector(JsonMembers& in) {
  Selector selector{in.text("name"), in.span("span"), {}};
  for (JsonMembers& range : in.list("values")) selector.values.push_back(read_range(range));
  return selector;
}

fact::Fact read_checksum(JsonMembers& in) {
  Checksum checksum;
  checksum.span = in.span("span");
  checksum.kind = in.text("method");
  checksum.polynomial = in.text("polynomial");
  if (in.has("initial")) checksum.initial = in.code("initial");
  if (in.has("final")) checksum.final_xor = in.code("final");
  checksum.reflected = in.flag("reflected");
  checksum.includes_identifier = in.flag("identifier");
  if (in.has("bytes")) {
    JsonMembers bytes = in.object("bytes");
    checksum.bytes = read_range(bytes);
  }
  return checksum;
}

fact::Fact read_series(JsonMembers& in) {
  fact::SeriesHead head{in.text("name"), {}};
  head.numbers.first = in.integer("first", 0, 1'000'000);
  head.numbers.last = in.integer("last", 0, 1'000'000);
  head.numbers.digits = static_cast<int>(in.integer("digits", 1, 9));
  return head;
}

fact::Fact read_bits(JsonMembers& in) {
  fact::Bits bits;
  bits.span = in.span("span");
  bits.encoding = static_cast<Encoding>(in.choice("encoding", encoding_words()));
  if (in.is_there("swapped")) bits.words_swapped = in.flag("swapped");
  if (in.has("step")) {
    JsonMembers step = in.object("step");
    bits.step = SpanStep{read_formula(step.object("bits")), step.flag("big")};
  }
  return bits;
}

fact::Fact read_where(JsonMembers& in) {
  PlaceWords place{{}, in.text("text")};
  if (in.has("members")) {
    JsonMembers members = in.object("members");
    place.members = read_range(members);
  }
  return place;
}

fact::Fact read_status(JsonMembers& in) {
  static const std::array<std::string, 3> statuses{"proposed", "confirmed", "refuted"};
  return fact::StatusLine{static_cast<Status>(in.choice("status", statuses))};
}

struct Reader {
  std::string kind;
  fact::Fact (*read)(JsonMembers&);
};

std::span<const Reader> readers() {
  using fact::Fact;
  static const std::vector<Reader> table{
      {"blank", [](JsonMembers& /*in*/) -> Fact { return fact::Blank{}; }},
      {"comment", [](JsonMembers& in) -> Fact { return fact::Comment{in.text("text")}; }},
      {"board", [](JsonMembers& in) -> Fact { return fact::Board{in.text("name")}; }},
      {"bit-rate",
       [](JsonMembers& in) -> Fact {
         return fact::BitRate{in.integer("rate", 1, most), false};
       }},
      {"data-bit-rate",
       [](JsonMembers& in) -> Fact {
         return fact::BitRate{in.integer("rate", 1, most), true};
       }},
      {"note", [](JsonMembers& in) -> Fact { return fact::Note{in.text("text")}; }},
      {"message", read_message},
      {"selector", read_selector},
      {"counter",
       [](JsonMembers& in) -> Fact {
         return Counter{in.span("span"), in.code("modulus"), in.integer("step", -most, most)};
       }},
      {"checksum", read_checksum},
      {"signal", [](JsonMembers& in) -> Fact { return fact::SignalHead{in.text("name")}; }},
      {"series", read_series},
      {"on",
       [](JsonMembers& in) -> Fact {
         return PageOf{in.text("selector"), read_formula(in.object("value"))};
       }},
      {"bits", read_bits},
      {"value",
       [](JsonMembers& in) -> Fact {
         return fact::Linear{in.number("scale"), in.number("offset"), in.text("unit")};
       }},
      {"table", [](JsonMembers& in) -> Fact { return fact::TableHead{in.text("unit")}; }},
      {"point",
       [](JsonMembers& in) -> Fact {
         return TablePoint{in.number("raw"), in.number("value")};
       }},
      {"state",
       [](JsonMembers& in) -> Fact {
         return StateWord{in.code("code"), in.text("word")};
       }},
      {"reserved",
       [](JsonMembers& in) -> Fact {
         return ReservedCode{read_range(in), in.text("word")};
       }},
      {"status", read_status},
      {"delay", [](JsonMembers& in) -> Fact { return fact::Delay{in.number("seconds")}; }},
      {"time-constant",
       [](JsonMembers& in) -> Fact { return fact::TimeConstant{in.number("seconds")}; }},
      {"where", read_where},
      {"pin",
       [](JsonMembers& in) -> Fact {
         return Pin{in.text("name"), in.text("text")};
       }},
      {"seen",
       [](JsonMembers& in) -> Fact {
         return Evidence{in.text("source"), in.integer("session", 0, most), in.text("text")};
       }},
  };
  return table;
}

std::vector<Node> read_lines(JsonMembers& parent, int level) {
  static const std::vector<std::string> kinds = [] {
    std::vector<std::string> all;
    for (const Reader& reader : readers()) all.push_back(reader.kind);
    return all;
  }();
  std::vector<Node> nodes;
  for (JsonMembers& in : parent.list("lines")) {
    Node& node = nodes.emplace_back();
    node.fact = readers()[static_cast<std::size_t>(in.choice("kind", kinds))].read(in);
    if (in.has("comment")) node.comment = in.text("comment");
    if (in.has("lines") && level < 2) node.children = read_lines(in, level + 1);
  }
  return nodes;
}

}  // namespace

Result<Document> document_from_json(std::string_view text, const std::string& name) {
  const auto wrong = [&name](const std::string& what) {
    return Error{ErrorCode::format, name + ": " + what};
  };
  const auto json = parse_json(text, name);
  if (!json) return json.error();
  std::optional<std::string> trouble;
  JsonMembers top(*json, "", trouble);
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
