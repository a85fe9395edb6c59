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

namespace {

TextTable long_table(std::size_t width) {
  TextTable table({{"signal"}, {"verdict"}, {"place"}, {"step", true}, {"delay", true}}, width);
  table.add({"cell_01", "strong", "1B0 2.7..1.0", "1.000 mV", "67 ms"});
  table.add({"a_name_that_is_much_longer_than_any", "weak", "2C1 0.7..0.0", "1 °C", ""});
  return table;
}

}  // namespace

TEST_CASE("columns without room stand beneath their row, never the name and the verdict") {
  CHECK(long_table(80).text().find("1.000 mV  67 ms\n") != std::string::npos);
  CHECK(long_table(40).text() ==
        "signal   verdict  place             step\n"
        "cell_01  strong   1B0 2.7..1.0  1.000 mV\n"
        "    delay 67 ms\n"
        "a_name_that_is_much_longer_than_any\n"
        "         weak     2C1 0.7..0.0      1 °C\n");
  CHECK(long_table(20).text().find("\ncell_01  strong\n    place 1B0\n") != std::string::npos);
}

TEST_CASE("a last column that may wrap is broken at blanks under itself") {
  TextTable table({{"n", true}, {"name"}, {"value", false, NoRoom::wrapped}}, 40);
  table.add({"1", "note", "the left clip came off and is on again now"});
  CHECK(table.text() ==
        "n  name  value\n"
        "1  note  the left clip came off and is\n"
        "         on again now\n");
}

TEST_CASE("columns that are left out are named below, and a coloured verdict keeps its column") {
  TextTable table({{"signal"}, {"verdict"}, {"rms", true, NoRoom::left_out}}, 20);
  table.add({"cell_01", "pass", "0.0012 V"}, [](const std::string& t) { return "<" + t + ">"; });
  CHECK(table.text() ==
        "signal   verdict\n"
        "cell_01  <pass>\n"
        "(no room here for\n"
        "  rms; a wider\n"
        "  terminal or --json\n"
        "  shows more)\n");
}

TEST_CASE("figures get the prefix of their size, an uncertainty as fine as itself") {
  CHECK(engineering(0.001, "V", 4) == "1.000 mV");
  CHECK(engineering(-0.0125, "A", 3) == "-12.5 mA");
  CHECK(engineering(1e-3 * 0.9999999, "V", 3) == "1.000 mV");
  CHECK(engineering(62, "°C", 3) == "62.0 °C");
  CHECK(engineering(0.1, "kPa", 3) == "0.100 kPa");  // has its prefix already
  CHECK(engineering(0, "V", 3) == "0 V");
  CHECK(engineering(12500, "W", 3) == "12.5 kW");
  CHECK(plus_minus(-40, 0.43, "°C") == "-40.00 ± 0.43 °C");
  CHECK(plus_minus(0, 0.0019, "V") == "0 ± 1.9 mV");
  CHECK(plus_minus(-62, 0.69, "Ah") == "-62.00 ± 0.69 Ah");
  CHECK(percent(0.00062, 2) == "0.062 %");
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
