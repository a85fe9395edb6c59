// Differences that are not in the payloads: CAN FD beside classical frames, and bit rates.
#include <doctest/doctest.h>

#include "decoder/report/against_report.h"
#include "tests/against/steady_board.h"

namespace foundling::test {
namespace {

struct Halves {
  Messages a, b;
  Survey in_a, in_b;
  Halves() {
    std::tie(a, b) = cut(steady_tractor(1, 80), 0.5);
    in_a = survey(a);
    in_b = survey(b);
  }
  [[nodiscard]] std::uint64_t frames_in_a(std::uint32_t number) const {
    for (const MessageSeries& m : a) {
      if (m.id.number() == number) return m.size();
    }
    return 0;
  }
};

}  // namespace

TEST_CASE("a message that comes as CAN FD in one recording alone is named") {
  const Halves board;
  const std::vector<FdMessage> fd{{0, CanId::standard(0x2C1), board.frames_in_a(0x2C1)}};
  const Recorded a{&board.in_a, board.a, 0, fd};
  const Recorded b{&board.in_b, board.b};
  const auto found = against(a, b).differences;
  REQUIRE(found.size() == 1);
  CHECK(found[0].kind == DifferenceKind::format);
  CHECK(found[0].id == CanId::standard(0x2C1));
  CHECK(difference_words(found[0]) == "comes as CAN FD in A, as classical CAN in B");
  CHECK(difference_words(against(b, a).differences.at(0)) ==
        "comes as CAN FD in B, as classical CAN in A");
}

TEST_CASE("a message that comes in both formats is not said to have changed") {
  const Halves board;
  const std::vector<FdMessage> some{{0, CanId::standard(0x2C1), 5}};
  const std::vector<FdMessage> all{{0, CanId::standard(0x2C1), board.frames_in_a(0x2C1)}};
  CHECK(against({&board.in_a, board.a, 0, some}, {&board.in_b, board.b}).differences.empty());
  CHECK(
      against({&board.in_a, board.a, 0, all}, {&board.in_b, board.b, 0, some}).differences.empty());
}

TEST_CASE("other bit rates are named, unknown ones are not") {
  const Halves board;
  const Recorded a{&board.in_a, board.a, 0, {}, 500'000, 2'000'000};
  const Recorded b{&board.in_b, board.b, 0, {}, 250'000, 5'000'000};
  const auto found = against(a, b).differences;
  REQUIRE(found.size() == 2);
  CHECK(difference_words(found[0]) == "runs at 500 kbit/s in A, 250 kbit/s in B");
  CHECK(difference_words(found[1]) ==
        "sends the data of CAN FD at 2000 kbit/s in A, 5000 kbit/s in B");
  CHECK(against(a, {&board.in_b, board.b, 0, {}, 500'000, 2'000'000}).differences.empty());
  CHECK(against(a, {&board.in_b, board.b}).differences.empty());
}

}  // namespace foundling::test
