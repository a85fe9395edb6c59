// What must happen to the answer when the session is changed in a way whose effect is known.
// FOUNDLING_PROPERTY_SEEDS sets how many sessions are tried for each property; 1 if it is not set.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <string>
#include <vector>

#include "tests/analysis/bench_session.h"

using namespace foundling;
using namespace foundling::test;

namespace {

constexpr std::array names{"pack_current", "cell_01", "temp_1", "supply", "key_switch"};

std::vector<std::uint64_t> seeds() {
  const char* wanted = std::getenv("FOUNDLING_PROPERTY_SEEDS");
  std::vector<std::uint64_t> list(wanted == nullptr ? 1 : std::strtoul(wanted, nullptr, 10));
  for (std::size_t i = 0; i < list.size(); ++i) list[i] = 11 + i;
  return list;
}

bool numeric(const Proposal& p) { return p.states.empty(); }

// Equal but for rounding: `gain` and `shift` are what the channel's unit was changed by.
void check_same_figures(const Proposal& a, const Proposal& b, double gain = 1, double shift = 0) {
  CHECK(a.place.bus == b.place.bus);
  CHECK(a.place.id == b.place.id);
  CHECK(a.place.page == b.place.page);
  CHECK(a.is_signed == b.is_signed);
  CHECK(a.is_float == b.is_float);
  CHECK(a.untested_high_bits == b.untested_high_bits);
  CHECK(a.levels == b.levels);
  CHECK(a.verdict == b.verdict);
  CHECK(a.states == b.states);
  CHECK(a.delay_s == doctest::Approx(b.delay_s).scale(1).epsilon(0.004));
  CHECK(a.time_constant_s == doctest::Approx(b.time_constant_s).scale(1).epsilon(0.02));
  if (!numeric(a)) return;
  const double width = b.offset_interval.high - b.offset_interval.low;
  CHECK(a.scale_fitted == doctest::Approx(b.scale_fitted * gain).epsilon(1e-6));
  CHECK(std::abs(a.offset_fitted - b.offset_fitted * gain - shift) <=
        std::abs(gain) * (0.02 * width + 1e-9));
  const double scale_width = b.scale_interval.high - b.scale_interval.low;
  CHECK((a.scale_interval.high - a.scale_interval.low) / (std::abs(gain) * scale_width) ==
        doctest::Approx(1).epsilon(0.02));
}

void check_planted(const Correlation& c) {
  const Proposal* current = first(c, "pack_current");
  REQUIRE(current != nullptr);
  CHECK(to_string(current->place.span) == "0.7..1.0");
  CHECK(current->is_signed);
  CHECK(current->scale == 0.1);
  const Proposal* cell = first(c, "cell_01");
  REQUIRE(cell != nullptr);
  CHECK(to_string(cell->place.span) == "3.7..2.0");
  CHECK(cell->scale == 0.001);
  const Proposal* temperature = first(c, "temp_1");
  REQUIRE(temperature != nullptr);
  CHECK(to_string(temperature->place.span) == "1.7..1.0");
  CHECK(temperature->place.id == CanId::extended(0x18FEF700));
  CHECK(temperature->scale == 1);
  CHECK(temperature->offset == -40);
  const Proposal* supply = first(c, "supply");
  REQUIRE(supply != nullptr);
  CHECK(to_string(supply->place.span) == "2.7..3.0");
  CHECK(supply->scale == 0.01);
  const Proposal* key = first(c, "key_switch");
  REQUIRE(key != nullptr);
  CHECK(to_string(key->place.span) == "5.3");
}

// Every channel's first proposal is that of `before`, span by span.
void check_unchanged(const Correlation& before, const Correlation& after) {
  for (const char* name : names) {
    CAPTURE(name);
    const Proposal* a = first(before, name);
    const Proposal* b = first(after, name);
    REQUIRE(a != nullptr);
    REQUIRE(b != nullptr);
    CHECK(a->place.span == b->place.span);
    check_same_figures(*b, *a);
  }
}

template <typename Check>
void for_each_session(Check check) {
  for (const auto seed : seeds()) {
    CAPTURE(seed);
    check(make_session(seed));
  }
}

}  // namespace

TEST_CASE("what was planted in the session comes back") {
  for (const auto seed : seeds()) {
    CAPTURE(seed);
    check_planted(answer(make_session(seed)));
  }
}

TEST_CASE("a shift of the time origin changes nothing") {
  for_each_session([](const BenchSession& before) {
    BenchSession after = before;
    constexpr std::int64_t shift = 86'400'000'000'000;  // a day of recording before it
    for (MessageSeries& m : after.messages) {
      for (std::int64_t& t : m.t_ns) t += shift;
    }
    for (ChannelSeries& c : after.channels) {
      for (Reading& r : c.readings) r.t_ns += shift;
    }
    check_unchanged(answer(before), answer(after));
  });
}

TEST_CASE("the order of channels and of messages does not matter") {
  for_each_session([](const BenchSession& before) {
    BenchSession after = before;
    std::reverse(after.channels.begin(), after.channels.end());
    check_unchanged(answer(before), answer(after));
    std::reverse(after.messages.begin(), after.messages.end());
    check_unchanged(answer(before), answer(after));
  });
}

TEST_CASE("a channel's name does not matter") {
  for_each_session([](const BenchSession& before) {
    BenchSession after = before;
    for (ChannelSeries& c : after.channels) c.channel.name = "x " + c.channel.name + " of mine";
    Correlation renamed = answer(after);
    for (Proposal& p : renamed.proposals) {
      if (p.channel.starts_with("x ")) p.channel = p.channel.substr(2, p.channel.size() - 2 - 8);
    }
    check_unchanged(answer(before), renamed);
  });
}

TEST_CASE("another unit changes scale and offset by its factor and nothing else") {
  for_each_session([](const BenchSession& before) {
    const Correlation old = answer(before);
    for (const double factor : {1000.0, 1e-3}) {
      CAPTURE(factor);
      BenchSession after = before;
      for (ChannelSeries& c : after.channels) {
        if (c.channel.is_state()) continue;
        for (Reading& r : c.readings) {
          r.value *= factor;
          r.uncertainty *= factor;
        }
      }
      const Correlation c = answer(after);
      for (const char* name : names) {
        CAPTURE(name);
        const Proposal* a = first(old, name);
        const Proposal* b = first(c, name);
        REQUIRE(a != nullptr);
        REQUIRE(b != nullptr);
        CHECK(a->place.span == b->place.span);
        check_same_figures(*b, *a, numeric(*a) ? factor : 1);
        if (numeric(*a)) CHECK(b->scale == doctest::Approx(a->scale * factor).epsilon(1e-12));
        if (numeric(*a)) CHECK(b->offset == doctest::Approx(a->offset * factor).epsilon(1e-12));
      }
    }
  });
}

TEST_CASE("another zero of the unit changes the offset and nothing else") {
  for_each_session([](const BenchSession& before) {
    BenchSession after = before;
    for (Reading& r : after.channels[2].readings) r.value += 273.15;  // °C to K
    const Correlation old = answer(before);
    const Correlation c = answer(after);
    const Proposal* a = first(old, "temp_1");
    const Proposal* b = first(c, "temp_1");
    REQUIRE(a != nullptr);
    REQUIRE(b != nullptr);
    CHECK(a->place.span == b->place.span);
    CHECK(b->scale == a->scale);
    check_same_figures(*b, *a, 1, 273.15);
  });
}

TEST_CASE("a channel of the other sign has the other scale") {
  for_each_session([](const BenchSession& before) {
    BenchSession after = before;
    for (const std::size_t i : {0U, 1U}) {
      for (Reading& r : after.channels[i].readings) r.value = -r.value;
    }
    const Correlation old = answer(before);
    const Correlation c = answer(after);
    for (const char* name : {"pack_current", "cell_01"}) {
      CAPTURE(name);
      const Proposal* a = first(old, name);
      const Proposal* b = first(c, name);
      REQUIRE(a != nullptr);
      REQUIRE(b != nullptr);
      CHECK(a->place.span == b->place.span);
      CHECK(b->scale == -a->scale);
      check_same_figures(*b, *a, -1);
    }
  });
}

TEST_CASE("mirrored bytes turn big-endian into little-endian and nothing else") {
  for_each_session([](const BenchSession& before) {
    BenchSession after = before;
    for (MessageSeries& m : after.messages) m = mirrored(m);
    const Correlation old = answer(before);
    const Correlation c = answer(after);
    for (const char* name : names) {
      CAPTURE(name);
      const Proposal* a = first(old, name);
      const Proposal* b = first(c, name);
      REQUIRE(a != nullptr);
      REQUIRE(b != nullptr);
      CHECK(mirrored(a->place.span, 8) == b->place.span);
      check_same_figures(*b, *a);
    }
  });
}

TEST_CASE("a message of noise changes nothing") {
  for (const auto seed : seeds()) {
    CAPTURE(seed);
    const BenchSession before = make_session(seed);
    BenchSession after = before;
    after.messages.push_back(noise_message(CanId::standard(0x7A0), 0, before, seed + 500));
    check_unchanged(answer(before), answer(after));
  }
}

TEST_CASE("the same identifier on a second bus is another message") {
  for (const auto seed : seeds()) {
    CAPTURE(seed);
    const BenchSession before = make_session(seed);
    BenchSession after = before;
    after.messages.push_back(noise_message(before.messages[0].id, 1, before, seed + 700));
    check_unchanged(answer(before), answer(after));

    // The message itself on the other bus: found there, and only there.
    BenchSession moved = after;
    moved.messages[0].bus = 1;
    moved.messages[2].bus = 0;
    const Correlation c = answer(moved);
    check_planted(c);
    for (const char* name : {"pack_current", "cell_01", "key_switch"}) {
      CAPTURE(name);
      REQUIRE(first(c, name) != nullptr);
      CHECK(first(c, name)->place.bus == 1);
    }
  }
}

TEST_CASE("a copy of a message on a second bus is named as one") {
  for_each_session([](const BenchSession& before) {
    BenchSession after = before;
    after.messages.push_back(before.messages[0]);
    after.messages.back().bus = 1;
    const Correlation c = answer(after);
    check_planted(c);
    for (const char* name : {"pack_current", "cell_01", "key_switch"}) {
      CAPTURE(name);
      const Proposal* p = first(c, name);
      REQUIRE(p != nullptr);
      const bool named =
          std::any_of(p->same_as.begin(), p->same_as.end(), [&](const FieldPlace& f) {
            return f.bus != p->place.bus && f.id == p->place.id && f.span == p->place.span;
          });
      CHECK(named);
    }
  });
}
