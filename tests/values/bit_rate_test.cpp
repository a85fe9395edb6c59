#include "schemas/values/bit_rate.h"

#include <doctest/doctest.h>

namespace foundling {

TEST_CASE("a bit rate is understood as people write it, and what is none is refused") {
  CHECK(bit_rate_of("500000") == 500'000);
  CHECK(bit_rate_of("500k") == 500'000);
  CHECK(bit_rate_of("500 kbit/s") == 500'000);
  CHECK(bit_rate_of("1M") == 1'000'000);
  CHECK(bit_rate_of("83.333k") == 83'333);
  CHECK(bit_rate_of("2 Mbps") == 2'000'000);
  for (const char* none :
       {"", "fast", "k", "500x", "-5", "0.5", "1e99", "500 k k", "nan", "5,5k"}) {
    CAPTURE(none);
    CHECK_FALSE(bit_rate_of(none));
  }
}

}  // namespace foundling
