#include "schemas/values/usage_words.h"

#include <doctest/doctest.h>

namespace foundling {

TEST_CASE("what is wrong on the command line is said in plain words") {
  CHECK(plain_usage_words("Could not convert: --session = abc") ==
        "--session: expected a number, found 'abc'");
  CHECK(plain_usage_words("--seconds: Value 0 not in range 0.100000 to 600.000000") ==
        "--seconds: expected 0.1 to 600, found '0'");
  const std::string no_limit = std::to_string(1.7e308);
  CHECK(plain_usage_words("--hours-left: Value -1 not in range 0.000000 to " + no_limit) ==
        "--hours-left: expected a number, 0 or more, found '-1'");
  CHECK(plain_usage_words("--format: tsv not in {csv,jsonl}") ==
        "--format: expected one of csv, jsonl; found 'tsv'");
  CHECK(plain_usage_words("The following argument was not expected: extra") ==
        "unexpected 'extra'");
  CHECK(plain_usage_words("--pack: 1 required TEXT missing") ==
        "--pack: the value after it is missing");
  CHECK(plain_usage_words("--keep requires --roll-size") == "--keep needs --roll-size");
  CHECK(plain_usage_words("--json excludes --into") == "--json and --into do not go together");
  CHECK(plain_usage_words("CAPTURE is required") == "CAPTURE is missing");
  CHECK(plain_usage_words("anything else") == "anything else");
}

}  // namespace foundling
