#include "schemas/values/channel_name.h"

#include <doctest/doctest.h>

namespace foundling {
namespace {

TEST_CASE("letters of any script make a channel's name") {
  for (const char* name : {"pack_current", "Zelle-03", "Zündung", "セル_1", "t.a"}) {
    CAPTURE(name);
    CHECK(fault_of_channel_name(name).empty());
  }
}

TEST_CASE("a name that is no UTF-8 is told so, with the byte") {
  CHECK(fault_of_channel_name("cell\xFF") == "is not UTF-8 at byte 5");
  CHECK(fault_of_channel_name("\xC3") == "is not UTF-8 at byte 1");
  CHECK(fault_of_state("op\x80"
                       "en") == "is not UTF-8 at byte 3");
}

TEST_CASE("a name with a character that hides or steers is told so, with the character") {
  CHECK(fault_of_channel_name("cell\u009B31m") == "holds \\u009b, which shows nothing");
  CHECK(fault_of_channel_name("abc\u202Edef") == "holds \\u202e, which shows nothing");
  CHECK(fault_of_state("open\u200B") == "holds \\u200b, which shows nothing");
}

}  // namespace
}  // namespace foundling
