#include "daemon/drop_counter.h"

#include <doctest/doctest.h>

#include <initializer_list>

namespace foundling {

TEST_CASE("drops are the difference to the last look") {
  DropCounter counter;
  CHECK(counter.advance(0) == 0);
  CHECK(counter.advance(5) == 5);
  CHECK(counter.advance(5) == 0);
  CHECK(counter.advance(12) == 7);
}

TEST_CASE("the counter wraps at 32 bits and no drop is lost or invented") {
  DropCounter counter;
  std::uint64_t total = 0;
  for (const std::uint32_t look : {0x70000000U, 0xE0000000U, 0xFFFFFFFEU, 3U}) {
    total += counter.advance(look);
  }
  CHECK(total == 0x1'0000'0003ULL);
}

TEST_CASE("a frame queued before the last look adds nothing") {
  DropCounter counter;
  CHECK(counter.advance(10) == 10);  // asked of the socket
  CHECK(counter.advance(8) == 0);    // a frame that was queued before
  CHECK(counter.advance(11) == 1);
}

TEST_CASE("a new socket counts from zero") {
  DropCounter counter;
  CHECK(counter.advance(10) == 10);
  counter.restart();
  CHECK(counter.advance(2) == 2);
}

}  // namespace foundling
