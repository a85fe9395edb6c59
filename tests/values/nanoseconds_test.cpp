#include "schemas/values/nanoseconds.h"

#include <doctest/doctest.h>

#include <initializer_list>
#include <limits>

#include "schemas/capture/time_limits.h"

namespace foundling {

TEST_CASE("seconds beyond all recordings stop where any time can still be added") {
  CHECK(nanoseconds_of(1.5) == 1'500'000'000);
  CHECK(nanoseconds_of(-0.25) == -250'000'000);
  const double endless = std::numeric_limits<double>::infinity();
  for (const double seconds : {1e10, 9.3e9, 1e300, endless}) {
    CHECK(nanoseconds_of(seconds) > longest_time_ns);
    CHECK(nanoseconds_of(-seconds) == -nanoseconds_of(seconds));
    CHECK(nanoseconds_of(seconds) <= std::numeric_limits<std::int64_t>::max() - longest_time_ns);
  }
  CHECK(nanoseconds_of(std::numeric_limits<double>::quiet_NaN()) == 0);
}

}  // namespace foundling
