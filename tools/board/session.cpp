#include "tools/board/session.h"

#include <algorithm>
#include <cmath>

#include "tools/board/bench_channels.h"

namespace foundling::board {
namespace {

std::vector<ChannelSeries> series_of(const BenchPlan& plan) {
  std::vector<ChannelSeries> all;
  for (Channel& channel : bench_channels()) all.push_back({std::move(channel), {}});
  for (const Setting& setting : plan.settings) {
    all[index(setting.input)].readings.push_back(setting.reading);
  }
  return all;
}

// The room: nobody writes it down.
double room_temperature(std::int64_t t_ns) {
  const double minutes = static_cast<double>(t_ns) * 1e-9 / 60;
  return 19.5 + 0.25 * minutes + 0.8 * std::sin(minutes / 2.3);
}

}  // namespace

SessionOptions session_options(int number, bool small) {
  const auto n = static_cast<std::uint64_t>(number);
  SessionOptions options;
  options.plan.seed = 1000 + n;
  options.board.run_seed = 2000 + n;
  if (small) {
    options.plan.seed += 500;
    options.plan.steps = 50;
    options.plan.single_cell_steps = 6;
    options.plan.dwell = 0.65;
    options.board.slowdown = 8;
  }
  return options;
}

BenchSession run_session(const SessionOptions& options) {
  const BenchPlan plan = make_plan(options.plan);
  std::vector<const Setting*> applied;
  for (const Setting& setting : plan.settings) applied.push_back(&setting);
  std::stable_sort(applied.begin(), applied.end(), [](const Setting* a, const Setting* b) {
    return a->applied_ns < b->applied_ns;
  });
  BenchSession session;
  session.duration_ns = plan.duration_ns;
  session.channels = series_of(plan);
  Board board(options.board);
  Inputs terminals;
  auto next = applied.begin();
  for (std::int64_t t_ns = 0; t_ns < plan.duration_ns; t_ns += tick_ns) {
    for (; next != applied.end() && (*next)->applied_ns <= t_ns; ++next) {
      terminals[(*next)->input] = (*next)->value;
    }
    terminals[Input::ambient] = room_temperature(t_ns);
    board.tick(terminals, session.frames);
  }
  return session;
}

}  // namespace foundling::board
