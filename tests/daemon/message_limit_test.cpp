#include "daemon/message_limit.h"

#include <doctest/doctest.h>

namespace foundling {

TEST_CASE("a flood of messages is cut to a handful and one every few seconds, and counted") {
  using namespace std::chrono_literals;
  MessageLimit limit(5, 2s);
  MessageLimit::Clock::time_point now{1h};
  int said = 0;
  for (int i = 0; i < 1000; ++i) said += limit.admit(now) ? 1 : 0;
  CHECK(said == 5);
  CHECK(limit.take_held_back() == 995);
  CHECK(limit.take_held_back() == 0);
  for (int i = 0; i < 100; ++i) {  // ten seconds
    now += 100ms;
    said += limit.admit(now) ? 1 : 0;
  }
  CHECK(said == 10);
  now += 1h;
  for (int i = 0; i < 100; ++i) said += limit.admit(now) ? 1 : 0;
  CHECK(said == 15);
}

}  // namespace foundling
