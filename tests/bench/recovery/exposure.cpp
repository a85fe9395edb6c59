#include "tests/bench/recovery/exposure.h"

#include <algorithm>
#include <set>

#include "tests/bench/recovery/place.h"

namespace foundling::recovery {
namespace {

constexpr int enough_frames = 3;

std::set<std::int64_t> right_readings(const RandomBoard& board, std::size_t c) {
  std::set<std::int64_t> right;
  for (const Reading& reading : board.channels[c].readings) right.insert(reading.id);
  for (const TrueSlip& slip : board.truth.channels[c].slips) right.erase(slip.reading);
  for (const std::int64_t id : board.truth.channels[c].doubtful) right.erase(id);
  return right;
}

}  // namespace

std::vector<bool> usable_settings(const RandomBoard& board, std::size_t c, const TrueField& field) {
  const MessageSeries& message = *find_message(board.messages, field.bus, field.id);
  const std::vector<Reading>& honest = board.truth.channels[c].honest;
  const double settle = field.delay_s + 3 * field.time_constant_s + 0.35;
  std::vector<int> frames(honest.size(), 0);
  for (const std::size_t i : rows_of(message, page_of(field))) {
    if (!field.is_ordinary(message.t_ns[i])) continue;
    const auto next =
        std::upper_bound(honest.begin(), honest.end(), message.t_ns[i],
                         [](std::int64_t t, const Reading& reading) { return t < reading.t_ns; });
    if (next == honest.begin()) continue;
    const double since = static_cast<double>(message.t_ns[i] - (next - 1)->t_ns) * 1e-9;
    if (since >= settle) ++frames[static_cast<std::size_t>(next - 1 - honest.begin())];
  }
  const std::set<std::int64_t> right = right_readings(board, c);
  std::vector<bool> usable(honest.size());
  for (std::size_t i = 0; i < honest.size(); ++i) {
    usable[i] = frames[i] >= enough_frames && right.count(honest[i].id) != 0;
  }
  return usable;
}

}  // namespace foundling::recovery
