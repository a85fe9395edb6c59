#include "decoder/touch/touch_test.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace foundling::touch {
namespace {

// What is known of a candidate before the first turn decides how much of the whole it may have:
// what stood still until somebody touched something deserves most. They add up to 1.
enum class Kind : std::uint8_t { still_bit, message, moving_bit, stepping_field, bending_field };
constexpr std::array<double, 5> parts = {0.45, 0.15, 0.2, 0.15, 0.05};

Kind kind_of(const Candidate& candidate, const Known& known) {
  if (!candidate.span) return Kind::message;
  if (candidate.shape == Shape::bend) return Kind::bending_field;
  if (!candidate.is_bit()) return Kind::stepping_field;
  return known.moving.count(candidate) != 0 ? Kind::moving_bit : Kind::still_bit;
}

}  // namespace

TouchTest::TouchTest(const Timing& timing, Selectors selectors, std::span<const Frame> before)
    : timing_(timing), selectors_(std::move(selectors)), known_(known_before(before, selectors_)) {}

// A candidate gets its share in the first turn in which it moves: before that nothing was bet on
// it. Turn n may give 1 / n(n + 1) of each part, which over all turns adds up to the part, equally
// to all that are new in it.
void TouchTest::give_shares(const std::vector<Trace>& traces) {
  std::array<int, parts.size()> fresh{};
  for (const Trace& trace : traces) {
    if (entries_.count(trace.candidate) != 0) continue;
    ++fresh[static_cast<std::size_t>(kind_of(trace.candidate, known_))];
  }
  const auto n = static_cast<double>(draws_.size());
  for (const Trace& trace : traces) {
    const auto kind = static_cast<std::size_t>(kind_of(trace.candidate, known_));
    entries_.try_emplace(trace.candidate,
                         Entry{std::log(parts[kind] / (n * (n + 1)) / fresh[kind]), {}, {}});
  }
}

void TouchTest::add(std::span<const Frame> frames, std::int64_t start_ns, const Draw& draw) {
  draws_.push_back(draw);
  std::vector<Trace> traces = traces_in(frames, start_ns, timing_, selectors_);
  give_shares(traces);
  for (Trace& trace : traces) {
    Entry& entry = entries_.at(trace.candidate);
    entry.history.push_back({draws_.size() - 1, trace.moments});
    entry.told.push_back({trace.before, trace.after});
  }
}

bool TouchTest::take_back() {
  const auto last = std::find_if(draws_.rbegin(), draws_.rend(),
                                 [](const Draw& draw) { return !draw.taken_back; });
  if (last == draws_.rend()) return false;
  last->taken_back = true;
  return true;
}

int TouchTest::counted() const {
  return static_cast<int>(std::count_if(draws_.begin(), draws_.end(),
                                        [](const Draw& draw) { return !draw.taken_back; }));
}

}  // namespace foundling::touch
