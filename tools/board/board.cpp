#include "tools/board/board.h"

#include <algorithm>
#include <cmath>

namespace foundling::board {
namespace {

constexpr std::int64_t ms = 1'000'000;

// Time on the wire without stuff bits: 47 or 67 bits around the payload.
std::int64_t wire_ns(CanId id, std::uint8_t length) {
  return ((id.is_extended() ? 67 : 47) + 8 * std::int64_t{length}) * 1'000'000'000 / bus_bit_rate;
}

std::int64_t to_microseconds(double ns) { return static_cast<std::int64_t>(ns / 1000) * 1000; }

struct SwitchEvent {
  Input input;
  std::uint8_t code;
};
constexpr std::array<SwitchEvent, 4> switch_events{{
    {Input::interlock, 0x21},
    {Input::contactor_positive_feedback, 0x31},
    {Input::contactor_negative_feedback, 0x32},
    {Input::key_switch, 0x41},
}};
constexpr std::uint8_t self_check_code = 0x07;

}  // namespace

Board::Board(const BoardOptions& options)
    : options_(options), noise_(options.run_seed), measurement_(options.board_seed) {
  for (const MessagePlan& plan : periodic_messages()) {
    slots_.push_back({options_.power_up_ns + plan.first_ms * options_.slowdown * ms});
  }
}

void Board::tick(const Inputs& terminals, std::vector<Frame>& frames) {
  const std::int64_t t_ns = tick_++ * tick_ns;
  if (t_ns < options_.power_up_ns) return;
  const Inputs before = picture_.measured.now;
  picture_.measured = measurement_.update(terminals, noise_);
  picture_.state = machine_.update(picture_.measured.now);
  picture_.uptime_ms = static_cast<std::uint32_t>((t_ns - options_.power_up_ns) / ms);
  wander();
  std::vector<Due> due;
  note_events(before, t_ns, due);
  collect_periodic(t_ns, due);
  send(due, frames);
}

// Slow random walks: the trap for a search that believes in correlation between slow things.
void Board::wander() {
  constexpr std::array<double, 3> stride{0.25, 0.12, 0.05};
  for (std::size_t i = 0; i < walk_.size(); ++i) {
    walk_[i] = std::clamp(walk_[i] + stride[i] * noise_.gaussian(), 0.0, 255.0);
    picture_.wandering[i] = static_cast<std::uint8_t>(walk_[i]);
  }
  drift_ = std::clamp(drift_ + 0.05 + 1.5 * noise_.gaussian(), 0.0, 65'535.0);
  picture_.drift = static_cast<std::uint16_t>(drift_);
}

void Board::note_events(const Inputs& before, std::int64_t t_ns, std::vector<Due>& due) {
  const auto say = [&](std::uint8_t code) {
    picture_.event_code = code;
    ++picture_.event_count;
    due.push_back(
        {t_ns + to_microseconds(noise_.uniform(0.2e6, 2e6)), event_id, encode_event(picture_)});
  };
  if (!picture_.measuring()) return;
  for (const SwitchEvent& event : switch_events) {
    if (before[event.input] != picture_.measured.now[event.input]) say(event.code);
  }
  // The board's own checks, at no particular time: one in 15 s.
  if (noise_.uniform() < static_cast<double>(tick_ns) * 1e-9 / 15) say(self_check_code);
}

void Board::collect_periodic(std::int64_t t_ns, std::vector<Due>& due) {
  const auto plans = periodic_messages();
  for (std::size_t i = 0; i < plans.size(); ++i) {
    Slot& slot = slots_[i];
    for (; slot.next_ns < t_ns + tick_ns;
         slot.next_ns += plans[i].period_ms * options_.slowdown * ms) {
      if (!plans[i].from_self_test && !picture_.measuring()) continue;
      const double late = std::abs(noise_.gaussian()) * 0.15e6;
      due.push_back({slot.next_ns + to_microseconds(late), plans[i].id,
                     plans[i].encode(picture_, slot.sequence++)});
    }
  }
}

void Board::send(std::vector<Due>& due, std::vector<Frame>& frames) {
  // One frame at a time; of two that are ready, the lower identifier wins the bus.
  std::sort(due.begin(), due.end(), [](const Due& a, const Due& b) {
    return a.t_ns != b.t_ns ? a.t_ns < b.t_ns : a.id.number() < b.id.number();
  });
  for (const Due& item : due) {
    bus_free_ns_ = std::max(bus_free_ns_, item.t_ns) + wire_ns(item.id, item.payload.length);
    Frame frame;
    frame.t_ns = bus_free_ns_;
    frame.id = item.id;
    frame.length = item.payload.length;
    std::copy_n(item.payload.bytes.begin(), item.payload.length, frame.payload.begin());
    frames.push_back(frame);
  }
}

}  // namespace foundling::board
