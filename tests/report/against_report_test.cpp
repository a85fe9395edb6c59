#include "decoder/report/against_report.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <set>

#include "tests/report/json_schema.h"

namespace foundling::test {
namespace {

using nlohmann::json;

constexpr int kinds = static_cast<int>(DifferenceKind::reset) + 1;

Difference some_difference(DifferenceKind kind) {
  Difference d;
  d.kind = kind;
  d.side = Side::b;
  d.id = CanId::standard(0x1A4);
  d.page = PagePlace{*parse_span("0.7..0.0"), 3};
  d.span = parse_span("2.7..3.0");
  d.a = 0.08;
  d.b = 0.04;
  d.from_s = 3;
  d.to_s = 5;
  d.a_form = "modulo 16";
  return d;
}

const AgainstSource source{{"monday.capture", 1, 500'000, 20}, {"tuesday.capture", 2, 500'000, 30}};

}  // namespace

TEST_CASE(
    "every kind of difference has words, a word of its own, and JSON that keeps to the schema") {
  const json schema = project_schema("against");
  std::set<std::string_view> words;
  Against all;
  for (int i = 0; i < kinds; ++i) {
    const auto kind = static_cast<DifferenceKind>(i);
    CHECK_FALSE(difference_words(some_difference(kind)).empty());
    CHECK(words.insert(kind_word(kind)).second);
    all.differences.push_back(some_difference(kind));
  }
  all.differences.push_back({});
  CHECK(schema_faults(schema, json::parse(against_json(all, source))) ==
        std::vector<std::string>{});
  CHECK(schema_faults(schema, json::parse(against_json({}, source))) == std::vector<std::string>{});
}

TEST_CASE("the answer comes first, and where nothing differs it is one sentence") {
  Against same;
  same.messages = same.alike = 11;
  CHECK(against_text(same, source) ==
        "A  monday.capture session 1, 20 s\n"
        "B  tuesday.capture session 2, 30 s\n"
        "\n"
        "No difference: what came in one came in the other as well, and alike but for\n"
        "  noise.\n"
        "\n"
        "11 messages are alike.\n");
}

TEST_CASE("many differences of one kind in a message are one line, messages of one side another") {
  Against many;
  many.messages = 20;
  many.alike = 10;
  for (const std::uint32_t number : {0x051U, 0x080U}) {
    Difference d;
    d.kind = DifferenceKind::only_in_one;
    d.id = CanId::standard(number);
    many.differences.push_back(d);
  }
  for (int i = 0; i < 6; ++i) {
    Difference d = some_difference(DifferenceKind::constant);
    d.page->value = static_cast<std::uint64_t>(i);
    d.a = 5;
    d.b = 6;
    many.differences.push_back(d);
  }
  const std::string text = against_text(many, source);
  CHECK(text.find("only in A: 051, 080\n") != std::string::npos);
  CHECK(
      text.find("1A4 2.7..3.0 on page 0 is 5 in A, 6 in B; 2.7..3.0 on page 1 is 5 in A, 6 in B;\n"
                "  2.7..3.0 on page 2 is 5 in A, 6 in B; and 3 more of the kind\n") !=
      std::string::npos);
}

}  // namespace foundling::test
