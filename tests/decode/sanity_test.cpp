// The sanity watch on invented values whose truth is known.
#include "decoder/decode/sanity.h"

#include <doctest/doctest.h>

#include <string>

#include "schemas/signals/read.h"

namespace foundling {
namespace {

constexpr std::int64_t second = 1'000'000'000;

// Four cells in one message, what the board says of them in another, and a message with a counter
// and a checksum over two bytes.
constexpr const char* map_text =
    "foundling signals 1\n"
    "message 100 length 8\n"
    "  series cell 1..4\n"
    "    bits 1.7..0.0 + (n - 1) * 2 bytes\n"
    "    value = raw * 0.001 V\n"
    "    reserved 0xFFFF not-available\n"
    "message 101 length 8\n"
    "  signal pack_voltage\n    bits 1.7..0.0\n    value = raw * 0.01 V\n"
    "  signal cell_lowest\n    bits 3.7..2.0\n    value = raw * 0.001 V\n"
    "  signal max_cell_voltage\n    bits 5.7..4.0\n    value = raw * 0.001 V\n"
    "message 102 length 4\n"
    "  counter bits 2.3..2.0 modulo 15\n"
    "  checksum bits 3.7..3.0 sum8 bytes 0..2\n";

class Board {
 public:
  explicit Board(const char* text = map_text)
      : read_(read_signals(text)), decoder_(read_.map), watch_(read_.map, decoder_.fields()) {
    REQUIRE(read_.diagnostics.empty());
  }

  void send(std::int64_t t_ns, std::uint32_t id, std::initializer_list<int> words) {
    Frame frame;
    frame.t_ns = t_ns;
    frame.id = CanId::standard(id);
    for (const int word : words) {  // low byte first
      frame.payload[frame.length++] = static_cast<std::uint8_t>(word);
      frame.payload[frame.length++] = static_cast<std::uint8_t>(word >> 8);
    }
    send(frame);
  }
  void send(const Frame& frame) { watch_.see(frame, decoder_.decode(frame)); }

  // What the watch says of `subject`; a check that was not possible has looked at nothing.
  [[nodiscard]] SanityCheck of(const std::string& subject) const {
    for (const SanityCheck& check : watch_.checks()) {
      if (check.subject == subject) return check;
    }
    return {};
  }
  SanityWatch& watch() { return watch_; }

 private:
  SignalText read_;
  Decoder decoder_;
  SanityWatch watch_;
};

Frame counted(int t_s, int counter, int checksum) {
  Frame frame;
  frame.t_ns = t_s * second;
  frame.id = CanId::standard(0x102);
  frame.length = 4;
  frame.payload[0] = 7;
  frame.payload[1] = static_cast<std::uint8_t>(t_s);
  frame.payload[2] = static_cast<std::uint8_t>(counter);
  frame.payload[3] = static_cast<std::uint8_t>(checksum);
  return frame;
}

int sum_of(const Frame& frame) { return frame.payload[0] + frame.payload[1] + frame.payload[2]; }

}  // namespace

TEST_CASE("cells that sum up to the pack's voltage pass, also while it moves and lags") {
  Board board;
  for (int t = 0; t < 60; ++t) {
    const int cell = t % 7 < 3 ? 3300 : 3500;          // jumps
    const int before = (t + 6) % 7 < 3 ? 3300 : 3500;  // a second late
    board.send(t * second, 0x100, {before, before, before, before});
    board.send(t * second + 1, 0x101, {cell * 4 / 10, cell, cell, 0});
  }
  for (const char* subject : {"pack_voltage", "cell_lowest", "max_cell_voltage"}) {
    CAPTURE(subject);
    CHECK(board.of(subject).looked >= 5);
    CHECK(board.of(subject).failed == 0);
  }
  CHECK(board.of("pack_voltage").text == "agrees with the sum of 4 cell values");
}

TEST_CASE("a pack voltage two per cent off, and extremes that are not the cells', are found") {
  Board board;
  for (int t = 0; t < 31; ++t) {
    board.send(t * second, 0x100, {3300, 3310, 3320, 3330});
    board.send(t * second + 1, 0x101, {1353, 3330, 3400, 0});  // 1.02 x 13.26 V = 13.53 V
  }
  const SanityCheck sum = board.of("pack_voltage");
  CHECK(sum.kind == SanityKind::sum_of_cells);
  CHECK(sum.failed == sum.looked);
  CHECK(sum.failing_now);
  CHECK(sum.worst == doctest::Approx(13.53 - 13.26));
  CHECK(sum.text == "says 13.53 V where the sum of 4 cell values is 13.26 V");
  CHECK(board.of("cell_lowest").failed == 3);  // says 3.33 V, is 3.30 V
  CHECK(board.of("max_cell_voltage").worst == doctest::Approx(0.07));
}

TEST_CASE("a cell without a number makes no false alarm: nothing is compared") {
  Board board;
  for (int t = 0; t < 31; ++t) {
    board.send(t * second, 0x100, {3300, 3300, 3300, 0xFFFF});
    board.send(t * second + 1, 0x101, {1320, 3300, 3300, 0});
  }
  CHECK(board.of("pack_voltage").looked == 0);
}

TEST_CASE(
    "a cell that stands still while the others move is frozen; one that always rests is not") {
  Board board;
  for (int t = 0; t < 300; ++t) {
    const int wobble = 3300 + t % 3;
    const int stuck = t < 150 ? wobble : 3301;
    board.send(t * second, 0x100, {wobble, stuck, wobble, 3290});
  }
  const SanityCheck check = board.of("cell_2");
  CHECK(check.kind == SanityKind::frozen);
  CHECK(check.failing_now);
  CHECK(check.worst == doctest::Approx(299 - 149).epsilon(0.02));
  CHECK(board.of("cell_4").looked == 0);
  CHECK(board.of("cell_1").looked == 0);
}

TEST_CASE("cells that come to rest together are not frozen") {
  Board board;
  for (int t = 0; t < 300; ++t) {
    const int cell = t < 150 ? 3300 + t % 3 : 3301;
    board.send(t * second, 0x100, {cell, cell, cell, cell});
  }
  CHECK(board.of("cell_2").failed == 0);
  CHECK(board.of("moving signals").looked == 4);
}

TEST_CASE("counters: standing still and skipping are told apart, a known gap is forgiven") {
  Board board;
  const int counters[] = {13, 14, 0, 1, 1, 2, 5, 6};  // modulo 15
  int t = 0;
  for (const int counter : counters) {
    Frame frame = counted(t++, counter, 0);
    board.send(frame);
  }
  const SanityCheck check = board.of("102 counter 2.3..2.0");
  CHECK(check.looked == 7);
  CHECK(check.failed == 2);
  CHECK(check.text == "did not count in 1 and skipped in 1 of 7 frames");
  CHECK(check.first_ns == 4 * second);
  CHECK(check.last_ns == 6 * second);
  board.watch().forget_counters();
  board.send(counted(t, 11, 0));
  CHECK(board.of("102 counter 2.3..2.0").failed == 2);
}

TEST_CASE("a checksum that fails once is counted once, plain, shifted or complemented") {
  // The map's sum8 does not say which; the frames do.
  const auto forms = {+[](int sum) { return sum; }, +[](int sum) { return sum + 0x55; },
                      +[](int sum) { return 0xFF - sum; }};
  for (const auto form : forms) {
    Board board;
    for (int t = 0; t < 100; ++t) {
      Frame frame = counted(t, t % 15, 0);
      frame.payload[3] = static_cast<std::uint8_t>(form(sum_of(frame)) ^ (t == 40 ? 0x10 : 0));
      board.send(frame);
    }
    const SanityCheck check = board.of("102 sum8 3.7..3.0");
    CHECK(check.looked == 100);
    CHECK(check.failed == 1);
    CHECK(check.first_ns == 40 * second);
    CHECK_FALSE(check.failing_now);
  }
}

TEST_CASE("failed checks come first") {
  Board board;
  for (int t = 0; t < 31; ++t) {
    board.send(t * second, 0x100, {3300, 3310, 3320, 3330});
    board.send(t * second + 1, 0x101, {1353, 3300, 3400, 0});
  }
  const auto checks = board.watch().checks();
  REQUIRE(checks.size() >= 3);
  CHECK(checks[0].failed > 0);
  CHECK(checks[1].failed > 0);
  CHECK(checks[2].failed == 0);
}

}  // namespace foundling
