#include "decoder/decode/freshness.h"

#include <doctest/doctest.h>

#include "schemas/signals/read.h"

namespace foundling {
namespace {

constexpr std::int64_t ms = 1'000'000;

struct Watched {
  SignalMap map;
  std::vector<Field> fields;
  Freshness fresh;
  explicit Watched(const char* text)
      : map(read_signals(text).map), fields(fields_of(map)), fresh(map, fields) {}
};

}  // namespace

TEST_CASE("a value never seen is stale, one just seen is not, and five periods later it is again") {
  Watched w(
      "foundling signals 1\nmessage 100 every 500 ms length 8\n  signal a\n    bits 0.7..0.0\n");
  REQUIRE(w.fields.size() == 1);
  CHECK(w.fresh.stale(0, 0));
  w.fresh.see(0, 1000 * ms);
  CHECK_FALSE(w.fresh.stale(0, 1000 * ms));
  CHECK_FALSE(w.fresh.stale(0, 3500 * ms));
  CHECK(w.fresh.stale(0, 3501 * ms));
}

TEST_CASE("a quick message's values count for a second, an unstated period's for ten") {
  Watched quick(
      "foundling signals 1\nmessage 100 every 10 ms length 8\n  signal a\n    bits 0.7..0.0\n");
  CHECK(quick.fresh.time_out_ns(0) == 1000 * ms);
  Watched unstated("foundling signals 1\nmessage 100 length 8\n  signal a\n    bits 0.7..0.0\n");
  CHECK(unstated.fresh.time_out_ns(0) == 10'000 * ms);
}

TEST_CASE("pages share a message's period") {
  Watched w(
      "foundling signals 1\nmessage 100 every 100 ms length 8\n"
      "  selector page bits 0.7..0.0 values 0..9\n"
      "  series cell 1..2\n    on page (n - 1)\n    bits 2.7..1.0 + (n - 1) mod 1 * 2 bytes\n");
  REQUIRE(w.fields.size() == 2);
  CHECK(w.fresh.time_out_ns(0) == 5 * 10 * 100 * ms);
}

TEST_CASE("where frames come more slowly than the map says, what comes decides, pauses aside") {
  Watched w(
      "foundling signals 1\nmessage 100 every 10 ms length 8\n  signal a\n    bits 0.7..0.0\n");
  std::int64_t t = 0;
  for (int i = 0; i < 200; ++i) w.fresh.see(0, t += 2000 * ms);
  CHECK(w.fresh.time_out_ns(0) == doctest::Approx(10'000.0 * ms).epsilon(0.2));
  w.fresh.see(0, t += 3'600'000 * ms);  // an hour's pause
  CHECK(w.fresh.time_out_ns(0) < 12'000 * ms);
}

TEST_CASE("a new time line starts with nothing seen, but with the periods known") {
  Watched w("foundling signals 1\nmessage 100 length 8\n  signal a\n    bits 0.7..0.0\n");
  for (int i = 1; i < 100; ++i) w.fresh.see(0, i * 4000 * ms);
  w.fresh.restart();
  CHECK(w.fresh.stale(0, 400'000 * ms));
  w.fresh.see(0, 5 * ms);
  CHECK_FALSE(w.fresh.stale(0, 15'000 * ms));
}

}  // namespace foundling
