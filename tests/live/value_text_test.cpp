// Figures as text, against the C++ library's own printing.
#include "tools/value_text.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <limits>
#include <random>
#include <string>

#include "tools/time_column.h"

namespace foundling {
namespace {

// The definition: fifteen significant digits, as printf's %g shortens them.
std::string printed(double value) {
  std::array<char, 64> text{};
  std::snprintf(text.data(), text.size(), "%.15g", value);
  return text.data();
}

}  // namespace

TEST_CASE("numbers are printed as fifteen significant digits say, quick way or not") {
  std::mt19937_64 dice(20260301);
  for (int i = 0; i < 200'000; ++i) {
    const auto raw = static_cast<double>(static_cast<std::int64_t>(dice()) >> (dice() % 63));
    for (const double scale : {1.0, 0.1, 0.001, 1e-6, 1.0 / 3, 0.00390625, 1e9, 1e-12}) {
      const double value = raw * scale - static_cast<double>(i % 3) * 40;
      CAPTURE(value);
      REQUIRE(number_text(value) == printed(value));
    }
  }
  for (const double value : {0.0, 1e-4, 9.9999e-5, 123456.789012, 999999999.999999, 1e15, 1e300,
                             5e-324, 0.1 + 0.2, 1079 * 0.1}) {
    CHECK(number_text(value) == printed(value));
    CHECK(number_text(-value) == printed(-value));
  }
  CHECK(number_text(1079 * 0.1) == "107.9");
}

TEST_CASE("a decimal's digits are those of the double nearest to it") {
  std::mt19937_64 dice(20260302);
  std::array<char, value_text_room> text{};
  for (int i = 0; i < 200'000; ++i) {
    const auto whole = static_cast<std::int64_t>(dice() % 1'000'000'000'000'000) >> (dice() % 50);
    for (const int digits : {0, 1, 2, 3, 4, 5, 6, 9, 15}) {
      const double value = static_cast<double>(whole) / std::pow(10.0, digits);
      CAPTURE(whole);
      CAPTURE(digits);
      REQUIRE(std::string(text.data(), put_decimal(text.data(), whole, digits)) == printed(value));
      if (whole == 0) continue;
      REQUIRE(std::string(text.data(), put_decimal(text.data(), -whole, digits)) ==
              printed(-value));
    }
  }
}

TEST_CASE("seconds are exact") {
  CHECK(seconds_text(0) == "0");
  CHECK(seconds_text(1'500'000'000) == "1.5");
  CHECK(seconds_text(-1) == "-0.000000001");
  CHECK(seconds_text(20'004'258'000) == "20.004258");
  CHECK(seconds_text(std::numeric_limits<std::int64_t>::min()) == "-9223372036.854775808");
  CHECK(seconds_text(std::numeric_limits<std::int64_t>::max()) == "9223372036.854775807");
}

TEST_CASE("Unix times read as people write them") {
  // date -u -d @1772366400.25 +%FT%T.%3NZ
  CHECK(utc_text(1'772'366'400'250'000'000) == "2026-03-01T12:00:00.250Z");
  CHECK(utc_text(-1'000'000) == "1969-12-31T23:59:59.999Z");
  CHECK(utc_text(0).empty());
}

TEST_CASE("a column of times is right whether seconds pass, stay or go back") {
  constexpr std::int64_t second = 1'000'000'000;
  TimeColumn seconds;
  CHECK(seconds.heading() == "time_s");
  CHECK(seconds.text(0) == "0");
  CHECK(seconds.text(1'500'000'000) == "1.5");
  TimeColumn utc([](std::int64_t t_ns) { return 1'772'366'399 * second + t_ns; });
  CHECK(utc.heading() == "time_utc");
  CHECK(utc.text(0) == "2026-03-01T11:59:59.000000Z");
  CHECK(utc.text(999'999'999) == "2026-03-01T11:59:59.999999Z");
  CHECK(utc.text(second) == "2026-03-01T12:00:00.000000Z");
  CHECK(utc.text(-1000) == "2026-03-01T11:59:58.999999Z");
  TimeColumn old([](std::int64_t t_ns) { return t_ns - 1'500'000'000; });
  CHECK(old.text(1000) == "1969-12-31T23:59:58.500001Z");
}

}  // namespace foundling
