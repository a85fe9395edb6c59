#include "schemas/values/table_cell.h"

#include <doctest/doctest.h>

#include <string>

namespace foundling {
namespace {

TEST_CASE("text in CSV is quoted where RFC 4180 asks for it") {
  CHECK(table_cell("plain") == "plain");
  CHECK(table_cell("a,b") == "\"a,b\"");
  CHECK(table_cell("say \"no\"") == "\"say \"\"no\"\"\"");
  CHECK(table_cell("°C") == "°C");
}

TEST_CASE("what a spreadsheet would run is text to it, and the guard comes off again") {
  for (const std::string formula : {"=1+1", "+on", "-off", "@SUM(A1)"}) {
    CHECK(table_cell(formula) == "'" + formula);
    CHECK(bare_cell(formula) == "'" + formula);
    CHECK(without_guard("'" + formula) == formula);
  }
  CHECK(table_cell("=HYPERLINK(\"x\",1)") == "\"'=HYPERLINK(\"\"x\"\",1)\"");
  CHECK(without_guard("'plain") == "'plain");
  CHECK(without_guard("") == "");
}

TEST_CASE("what does not show itself is written out in a cell") {
  CHECK(table_cell("two\nlines") == "two\\u000alines");
  CHECK(table_cell("a\u202Eb") == "a\\u202eb");
}

}  // namespace
}  // namespace foundling
