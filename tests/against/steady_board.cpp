#include "tests/against/steady_board.h"

#include <algorithm>
#include <map>

#include "tests/bench/recovery/session.h"
#include "tools/board/board.h"
#include "tools/board/session.h"

namespace foundling::test {
namespace {

void append(MessageSeries& to, const MessageSeries& from, std::size_t row) {
  to.t_ns.push_back(from.t_ns[row]);
  const auto bytes = from.row(row);
  to.bytes.insert(to.bytes.end(), bytes.begin(), bytes.end());
  if (!from.lengths.empty()) to.lengths.push_back(from.lengths[row]);
}

Messages in_columns(const std::vector<Frame>& frames) {
  std::map<std::pair<bool, std::uint32_t>, MessageSeries> messages;
  for (const Frame& frame : frames) {
    MessageSeries& series = messages[{frame.id.is_extended(), frame.id.number()}];
    series.id = frame.id;
    series.length = frame.length;
    series.t_ns.push_back(frame.t_ns);
    const auto bytes = frame.bytes();
    series.bytes.insert(series.bytes.end(), bytes.begin(), bytes.end());
  }
  Messages result;
  for (auto& [key, series] : messages) result.push_back(std::move(series));
  return result;
}

}  // namespace

SteadyBoard steady_board(recovery::Family family, std::uint64_t seed, double duration_s) {
  const auto steady = [duration_s](const recovery::Session& session, const recovery::Recipe&) {
    recovery::Plan plan;
    plan.duration_s = duration_s;
    for (const auto& changes : session.plan.changes) plan.changes.push_back({changes.front()});
    return plan;
  };
  recovery::RandomBoard board = recovery::make_board(family, seed, steady);
  return {std::move(board.messages), std::move(board.truth)};
}

Messages steady_tractor(std::uint64_t seed, double duration_s) {
  board::BoardOptions options;
  options.run_seed = seed;
  board::Board tractor(options);
  board::Inputs terminals;
  terminals[board::Input::pack_voltage] = 92;
  for (std::size_t i = 0; i < board::cell_count; ++i) {
    terminals.cell(i) = 3.28 + 0.001 * static_cast<double>((seed + i * 7) % 30);
  }
  terminals[board::Input::supply_voltage] = 12.6;
  terminals[board::Input::interlock] = 1;
  terminals[board::Input::key_switch] = static_cast<double>(seed % 3);
  terminals[board::Input::pack_current] = static_cast<double>(seed % 5) * 4;
  constexpr std::int64_t up_ns = 60'000'000'000;
  std::vector<Frame> frames;
  const auto end_ns = up_ns + static_cast<std::int64_t>(duration_s * 1e9);
  for (std::int64_t t_ns = 0; t_ns < end_ns; t_ns += board::tick_ns) {
    const double minutes = static_cast<double>(t_ns) * 1e-9 / 60;
    terminals[board::Input::ambient] = 19.5 + 0.25 * minutes;
    tractor.tick(terminals, frames);
  }
  std::erase_if(frames, [](const Frame& f) { return f.t_ns < up_ns; });
  return in_columns(frames);
}

std::pair<Messages, Messages> cut(const Messages& messages, double share) {
  std::int64_t from = messages.front().t_ns.front();
  std::int64_t to = from;
  for (const MessageSeries& m : messages) {
    from = std::min(from, m.t_ns.front());
    to = std::max(to, m.t_ns.back());
  }
  const std::int64_t at = from + static_cast<std::int64_t>(static_cast<double>(to - from) * share);
  std::pair<Messages, Messages> parts;
  for (const MessageSeries& m : messages) {
    for (const bool second : {false, true}) {
      MessageSeries part;
      part.bus = m.bus;
      part.id = m.id;
      part.length = m.length;
      for (std::size_t i = 0; i < m.size(); ++i) {
        if ((m.t_ns[i] >= at) == second) append(part, m, i);
      }
      if (part.size() > 0) (second ? parts.second : parts.first).push_back(std::move(part));
    }
  }
  return parts;
}

Against held(const Messages& a, const Messages& b) {
  const Survey found_a = survey(a);
  const Survey found_b = survey(b);
  return against({&found_a, a}, {&found_b, b});
}

}  // namespace foundling::test
