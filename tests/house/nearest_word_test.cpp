#include "schemas/values/nearest_word.h"

#include <doctest/doctest.h>

#include <array>

namespace foundling {

TEST_CASE("the distance counts letters inserted, removed, replaced and swapped") {
  // Textbook pairs: kitten/sitting 3 and Saturday/Sunday 3 (Levenshtein distance; from memory).
  CHECK(edit_distance("kitten", "sitting") == 3);
  CHECK(edit_distance("Saturday", "Sunday") == 3);
  CHECK(edit_distance("", "page") == 4);
  CHECK(edit_distance("page", "") == 4);
  CHECK(edit_distance("chekc", "check") == 1);
  CHECK(edit_distance("same", "same") == 0);
}

TEST_CASE("the nearest word is suggested, and none where none is near") {
  const std::array<std::string, 4> known = {"survey", "signals", "check", "correlate"};
  CHECK(nearest_word("servey", known) == "survey");
  CHECK(nearest_word("chekc", known) == "check");
  CHECK(nearest_word("signal", known) == "signals");
  CHECK(nearest_word("corr", known) == "correlate");  // its beginning
  CHECK_FALSE(nearest_word("banana", known));
  CHECK_FALSE(nearest_word("ch", known));
  CHECK_FALSE(nearest_word("", known));
}

}  // namespace foundling
