#include "tools/exchange/decimal_seconds.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <limits>
#include <random>
#include <string>

namespace foundling {
namespace {

std::int64_t ns(const char* text) {
  const auto seconds = parse_seconds(text);
  REQUIRE(seconds.has_value());
  CHECK_FALSE(seconds->rounded);
  return seconds->ns;
}

TEST_CASE("decimal seconds are exact to the nanosecond") {
  CHECK(ns("0") == 0);
  CHECK(ns("12") == 12'000'000'000);
  CHECK(ns("-0.5") == -500'000'000);
  CHECK(ns("+.25") == 250'000'000);
  CHECK(ns("7.") == 7'000'000'000);
  // Beyond what a double carries: 2^53 ns is 104 days.
  CHECK(ns("1700000000.123456789") == 1'700'000'000'123'456'789);
  CHECK(ns("0.1000000000000") == 100'000'000);
  CHECK(ns("9223372036.854775807") == std::numeric_limits<std::int64_t>::max());
  CHECK(ns("000000000000000000000001") == 1'000'000'000);
}

TEST_CASE("an exponent moves the point, exactly") {
  CHECK(ns("1e-9") == 1);
  CHECK(ns("2.5E-3") == 2'500'000);
  CHECK(ns("1.7e+9") == 1'700'000'000'000'000'000);
  CHECK(ns("1234.5e-2") == 12'345'000'000);
}

TEST_CASE("digits below the nanosecond are rounded and said so") {
  const auto up = parse_seconds("0.0000000015");
  REQUIRE(up.has_value());
  CHECK(up->ns == 2);
  CHECK(up->rounded);
  const auto down = parse_seconds("-1.00000000049");
  REQUIRE(down.has_value());
  CHECK(down->ns == -1'000'000'000);
  CHECK(down->rounded);
}

TEST_CASE("what is not a number of seconds is refused") {
  for (const char* text : {"", ".", "-", "1,5", "1.2.3", "abc", "1s", " 1", "1 ", "0x10", "nan",
                           "inf", "1e", "1e5.0", "9223372036.854775808", "1e11", "--1"}) {
    CAPTURE(text);
    CHECK_FALSE(parse_seconds(text).has_value());
  }
}

TEST_CASE("what is written reads back the same") {
  constexpr unsigned seed = 7;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  for (int i = 0; i < 10'000; ++i) {
    const auto value = static_cast<std::int64_t>(random()) >> (random() % 64);
    if (value == std::numeric_limits<std::int64_t>::min()) continue;
    std::string text;
    append_seconds(text, value);
    CAPTURE(text);
    CHECK(ns(text.c_str()) == value);
  }
}

TEST_CASE("seconds are written with nine decimals") {
  std::string text;
  append_seconds(text, -500'000'000);
  CHECK(text == "-0.500000000");
  text.clear();
  append_seconds(text, 1'700'000'000'123'456'789);
  CHECK(text == "1700000000.123456789");
}

}  // namespace
}  // namespace foundling
