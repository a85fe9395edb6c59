#include <doctest/doctest.h>

#include <string>

#include "schemas/signals/read.h"

namespace foundling {
namespace {

bool reports(const SignalText& read, int line, const std::string& words) {
  for (const Diagnostic& found : read.diagnostics) {
    if (found.place.line == line && found.message.find(words) != std::string::npos) return true;
  }
  return false;
}

}  // namespace

TEST_CASE("a fault in one message hides none in another: all are reported in one run") {
  const SignalText read = read_signals(
      "foundling signals 1\n"
      "message 1A4 length 8\n"
      "  signl a\n"  // line 3: a misspelt word
      "    bits 0.7..0.0\n"
      "message 1A5 length 8\n"
      "  signal b\n"  // line 6: a signal without bits
      "    value = raw * 1 V\n"
      "message 1A6 length 8\n"
      "  signal c\n"
      "    bits 9.7..9.0\n"  // line 10: outside the length
      "    value = raw * 1 V\n");
  CHECK_FALSE(read.ok());
  CHECK(reports(read, 3, "signl"));
  bool bits = false, outside = false;
  for (const Diagnostic& found : read.diagnostics) {
    bits = bits ||
           (found.severity == Severity::error && found.place.line >= 5 && found.place.line <= 7);
    outside = outside || (found.severity == Severity::error && found.place.line >= 8);
  }
  CHECK(bits);
  CHECK(outside);
}

TEST_CASE("what only follows from a fault is not reported beside it") {
  const SignalText read = read_signals(
      "foundling signals 1\n"
      "message 1A4 length 8\n"
      "  signl a\n"
      "    bits 0.7..0.0\n");
  CHECK(read.diagnostics.size() == 1);
}

}  // namespace foundling
