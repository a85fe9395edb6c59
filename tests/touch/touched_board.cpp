#include "tests/touch/touched_board.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace foundling::touch {
namespace {

enum PartKind { drifting, noisy, counting, flipping };
constexpr int wanted_bits = 200;

}  // namespace

TouchedBoard::TouchedBoard(std::uint64_t seed, BoardKind kind) : random_(seed), kind_(kind) {
  while (moving_bits_ < wanted_bits) add_message();
  // A bit that nothing else has, in any message that is sent twice a second at least.
  do {
    true_message_ = static_cast<std::size_t>(below(static_cast<int>(messages_.size())));
  } while (messages_[true_message_].period_ns > 500'000'000 || messages_[true_message_].pages > 1);
  const auto bit = static_cast<std::uint8_t>(below(8));
  true_bit_ = {{7, bit}, {7, bit}};
  if (kind.one_forgotten) forgotten_ = below(12);
}

double TouchedBoard::normal() {
  double sum = -6;
  for (int i = 0; i < 12; ++i) sum += uniform();
  return sum;
}

// Bytes 0 to 6 for what moves by itself; byte 7 is still but for the one bit.
void TouchedBoard::add_message() {
  constexpr std::array<std::int64_t, 7> periods_ms = {20, 50, 80, 100, 200, 500, 1000};
  Message message;
  message.key = {0, CanId::standard(0x100 + 0x11 * static_cast<std::uint32_t>(messages_.size()))};
  message.period_ns = periods_ms[static_cast<std::size_t>(below(7))] * 1'000'000;
  message.next_ns = static_cast<std::int64_t>(uniform() * static_cast<double>(message.period_ns));
  if (below(4) == 0) {
    message.pages = 2 + below(3);
    selectors_[message.key] = {{0, 1}, {0, 0}};
  }
  for (std::uint8_t byte = 1; byte < 6; byte = static_cast<std::uint8_t>(byte + 2)) {
    Part part;
    part.kind = below(4);
    const auto next = static_cast<std::uint8_t>(byte + 1);
    part.span = {{byte, 7}, {next, 0}};
    if (part.kind == counting) part.span = {{byte, 3}, {byte, 0}};
    if (part.kind == flipping) part.span = {{byte, 5}, {byte, 5}};
    part.level = 1000 + 50'000 * uniform();
    part.speed = 0.2 + 20 * uniform() * uniform();  // a second, of a drift; or flips
    part.noise = 0.3 + 12 * uniform() * uniform();
    moving_bits_ += part.kind == counting ? 4 : part.kind == flipping ? 1 : 7;
    message.parts.push_back(part);
  }
  messages_.push_back(message);
}

std::uint64_t TouchedBoard::value_of(Part& part, const Message& message) {
  const double period_s = static_cast<double>(message.period_ns) * 1e-9;
  if (part.kind == counting) return message.sent % 16;
  if (part.kind == flipping) {
    if (uniform() < 0.05 * part.speed * period_s) part.level = part.level > 0 ? 0 : 1;
    return part.level > 0 ? 1 : 0;
  }
  if (part.kind == drifting) part.level += part.speed * std::sqrt(period_s) * 3 * normal();
  part.level = std::clamp(part.level, 0.0, 65'000.0);
  return static_cast<std::uint64_t>(std::max(0.0, part.level + part.noise * normal()));
}

std::vector<Frame> TouchedBoard::run_to(std::int64_t t_ns) {
  std::vector<Frame> frames;
  for (std::size_t i = 0; i < messages_.size(); ++i) {
    Message& message = messages_[i];
    for (; message.next_ns < t_ns; message.next_ns += message.period_ns) {
      Frame frame;
      frame.t_ns = message.next_ns + static_cast<std::int64_t>(1e5 * normal());
      frame.id = message.key.id;
      frame.length = 8;
      for (Part& part : message.parts) insert(part.span, value_of(part, message), frame.payload);
      if (message.pages > 1) {
        frame.payload[0] =
            static_cast<std::uint8_t>(message.sent % static_cast<unsigned>(message.pages));
      }
      ++message.sent;
      const bool changed = message.next_ns >= change_ns_;
      if (kind_.answers && i == true_message_) {
        insert(true_bit_, changed ? (thing_ ? 1 : 0) : state_, frame.payload);
      }
      frames.push_back(frame);
    }
  }
  std::stable_sort(frames.begin(), frames.end(),
                   [](const Frame& a, const Frame& b) { return a.t_ns < b.t_ns; });
  now_ns_ = t_ns;
  return frames;
}

TouchTest TouchedBoard::test() { return {timing_, selectors_, run_to(10'000'000'000)}; }

void TouchedBoard::turn(TouchTest& test, int number) {
  const Draw draw{static_cast<int>(random_() % places), (number + 1) % 2, false};
  (void)run_to(now_ns_ + 200'000'000);
  const std::int64_t start = now_ns_;
  // The hand: a quarter of a second to 1.2 s; the board: up to 0.3 s more. Enter comes up to 0.8 s
  // after the hand, and nothing here depends on it.
  const double late_s = 0.25 + 0.95 * uniform() + 0.3 * uniform() * uniform();
  if (number != forgotten_) {
    thing_ = draw.target == 1;
    change_ns_ = start + timing_.word_ns(draw.place) + static_cast<std::int64_t>(late_s * 1e9);
  }
  test.add(run_to(start + timing_.window_ns()), start, draw);
  state_ = thing_ ? 1 : 0;
  change_ns_ = INT64_MAX;
}

std::optional<Candidate> TouchedBoard::truth() const {
  if (!kind_.answers) return {};
  return Candidate{messages_[true_message_].key, {}, true_bit_, Shape::step};
}

}  // namespace foundling::touch
