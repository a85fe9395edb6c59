#include "schemas/values/shown_text.h"

#include <doctest/doctest.h>

#include <string>

namespace foundling {
namespace {

TEST_CASE("text that shows itself is shown as it is") {
  for (const char* text : {"", "pack_current", "Ω ± 0.5 °C", "a\\b \"c\"", "電圧", "⚡\uFE0F"}) {
    CHECK(shown(text) == text);
    CHECK(shown_lines(text) == text);
  }
}

TEST_CASE("control characters of both sets are written out") {
  CHECK(shown("\x1b[31mred") == "\\u001b[31mred");
  CHECK(shown("\u009B31m") == "\\u009b31m");
  CHECK(shown(std::string("a\0b\x7F", 4)) == "a\\u0000b\\u007f");
  CHECK(shown("two\nlines\tand a tab\r") == "two\\u000alines\\u0009and a tab\\u000d");
  for (char32_t c = 0x80; c < 0xA0; ++c) CHECK_FALSE(shows_itself(c));
}

TEST_CASE("marks that turn, hide or break text are written out") {
  CHECK(shown("a\u202Eb") == "a\\u202eb");
  CHECK(shown("a\u2066b\u2069") == "a\\u2066b\\u2069");
  CHECK(shown("a\u200Bb\uFEFF") == "a\\u200bb\\ufeff");
  CHECK(shown("a\u2028b\u2029") == "a\\u2028b\\u2029");
  CHECK(shown("\U000E0041") == "\\udb40\\udc41");
}

TEST_CASE("bytes that are no UTF-8 are written out each for itself") {
  CHECK(shown("a\xFF\x9B"
              "b") == "a\\xff\\x9bb");
  CHECK(shown("\xC3") == "\\xc3");
  CHECK(shown("\xED\xA0\x80") == "\\xed\\xa0\\x80");  // a surrogate: RFC 3629, section 3
  CHECK(shown("\xC0\xAF") == "\\xc0\\xaf");           // an overlong form, section 3 too
}

TEST_CASE("a message keeps its lines and tabs, and nothing else that steers") {
  CHECK(shown_lines("a\n\t^\x1b]0;x\a\r") == "a\n\t^\\u001b]0;x\\u0007\\u000d");
}

}  // namespace
}  // namespace foundling
