#include "tests/report/json_schema.h"

#include <doctest/doctest.h>

namespace foundling::test {
namespace {

using nlohmann::json;

struct Row {
  const char* schema;
  const char* good;
  const char* bad;
};

// What the words mean is said in "JSON Schema: A Vocabulary for Structural Validation of JSON",
// draft 2020-12, sections 6.1 to 6.5.
constexpr Row rows[] = {
    {R"({"type": "integer"})", "3", "3.5"},
    {R"({"type": "number"})", "3", R"("3")"},
    {R"({"type": ["number", "null"]})", "null", "false"},
    {R"({"const": 1})", "1", "2"},
    {R"({"enum": ["big", "little"]})", R"("big")", R"("Big")"},
    {R"({"minimum": 0})", "0", "-1"},
    {R"({"maximum": 1})", "1", "1.5"},
    {R"({"pattern": "^[0-7]$"})", R"("7")", R"("8")"},
    {R"({"required": ["a"]})", R"({"a": 1})", R"({"b": 1})"},
    {R"({"properties": {"a": {"type": "string"}}})", R"({"b": 1})", R"({"a": 1})"},
    {R"({"items": {"minimum": 2}})", "[2, 3]", "[2, 1]"},
    {R"({"minItems": 2})", "[1, 2]", "[1]"},
    {R"({"maxItems": 2})", "[1, 2]", "[1, 2, 3]"},
    {R"({"additionalProperties": {"type": "string"}})", R"({"a": "b"})", R"({"a": 1})"},
    {R"({"additionalProperties": {}, "propertyNames": {"pattern": "^[0-9]+$"}})", R"({"12": "on"})",
     R"({"on": "12"})"},
    {R"({"$defs": {"n": {"type": "null"}}, "items": {"$ref": "#/$defs/n"}})", "[null]", "[0]"},
};

}  // namespace

TEST_CASE("each word of a schema lets what it means pass and nothing else") {
  for (const Row& row : rows) {
    CAPTURE(row.schema);
    CHECK(schema_faults(json::parse(row.schema), json::parse(row.good)).empty());
    CHECK(schema_faults(json::parse(row.schema), json::parse(row.bad)).size() == 1);
  }
}

TEST_CASE("a word of a schema that is not known is a fault") {
  CHECK(schema_faults(json{{"multiplOf", 2}}, 4).size() == 1);
  CHECK(schema_faults(json{{"items", {{"minimun", 2}}}}, json::array()).size() == 1);
}

TEST_CASE("a schema that is wrong itself is a fault") {
  CHECK(schema_faults(json{{"type", "figure"}}, 4).size() == 1);
}

}  // namespace foundling::test
