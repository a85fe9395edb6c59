#include <doctest/doctest.h>

#include <string>

#include "decoder/report/figures.h"
#include "decoder/report/paragraph.h"
#include "decoder/report/text_table.h"

namespace foundling::test {

TEST_CASE("columns are aligned by characters, numbers to the right, without trailing blanks") {
  TextTable table({{"name"}, {"value", true}, {"word"}});
  table.add({"Ω", "5", "open"});
  table.add_line("a remark that is wider than any column");
  table.add({"current", "-12.25", ""});
  CHECK(table.text() ==
        "name      value  word\n"
        "Ω             5  open\n"
        "    a remark that is wider than any column\n"
        "current  -12.25\n");
}

TEST_CASE("a sentence is broken at blanks, and a long word stays whole") {
  CHECK(paragraph("move cell_01 by itself", 2, 16) == "  move cell_01\n    by itself\n");
  CHECK(paragraph("a  wordthatislongerthanaline b", 0, 10) ==
        "a\n  wordthatislongerthanaline\n  b\n");
  CHECK(paragraph("ΩΩΩ ΩΩ", 0, 6) == "ΩΩΩ ΩΩ\n");  // six characters, eleven bytes
  CHECK(paragraph("", 2, 10).empty());
  CHECK(paragraph("  ", 2, 10).empty());
}

TEST_CASE("figures keep the digits asked for and no trailing zeros") {
  CHECK(figure(0.1, 3) == "0.1");
  CHECK(figure(1234.56, 3) == "1235");
  CHECK(figure(-0.00012345, 3) == "-0.000123");
  CHECK(figure(0, 3) == "0");
  CHECK(figure(1.5e-7, 3) == "1.50e-07");
  CHECK(exact_figure(0.1) == "0.1");
  CHECK(duration(0.02) == "20 ms");
  CHECK(duration(0.00025) == "250 µs");
  CHECK(duration(1.5) == "1.5 s");
  CHECK(identifier_text(CanId::standard(0x51)) == "051");
  CHECK(identifier_text(CanId::extended(0x51)) == "00000051");
}

}  // namespace foundling::test
