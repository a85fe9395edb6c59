#include "decoder/decode/freshness.h"

#include <algorithm>
#include <cstddef>
#include <map>
#include <set>
#include <utility>

namespace foundling {
namespace {

constexpr std::int64_t periods = 5;
constexpr std::int64_t least_ns = 1'000'000'000;
constexpr std::int64_t least_unstated_ns = 10'000'000'000;

// How many pages take turns in the selector's message: those the map lists, else those it uses.
std::int64_t pages_of(const MessageEntry& message, const Span& selector, std::size_t used) {
  for (const Selector& one : message.selectors) {
    if (one.span != selector || one.values.empty()) continue;
    std::uint64_t count = 0;
    for (const CodeRange& range : one.values) count += range.last - range.first + 1;
    return static_cast<std::int64_t>(std::clamp<std::uint64_t>(count, 1, 65536));
  }
  return static_cast<std::int64_t>(used);
}

}  // namespace

Freshness::Freshness(const SignalMap& map, std::span<const Field> fields) : fields_(fields.size()) {
  std::map<std::pair<std::size_t, Span>, std::set<std::uint64_t>> used;
  for (const Field& field : fields) {
    if (field.page) used[{field.message, field.page->selector}].insert(field.page->value);
  }
  for (std::size_t i = 0; i < fields.size(); ++i) {
    const Field& field = fields[i];
    const MessageEntry& message = map.messages[field.message];
    fields_[i].stated_ns = message.period_ns;
    if (!field.page) continue;
    fields_[i].stated_ns *=
        pages_of(message, field.page->selector, used[{field.message, field.page->selector}].size());
  }
}

// A step of a tenth up or down follows the median: one long pause moves it no further than one
// short one.
void Freshness::see(std::size_t field, std::int64_t t_ns) {
  State& state = fields_[field];
  const std::int64_t between = t_ns - state.last_ns;
  if (state.seen && between > 0) {
    if (state.observed_ns == 0) {
      state.observed_ns = between;
    } else if (between != state.observed_ns) {
      const std::int64_t step = std::max<std::int64_t>(state.observed_ns / 10, 1);
      state.observed_ns = between > state.observed_ns ? std::min(between, state.observed_ns + step)
                                                      : std::max(between, state.observed_ns - step);
    }
  }
  state.last_ns = t_ns;
  state.seen = true;
}

void Freshness::restart() {
  for (State& state : fields_) state.seen = false;
}

std::int64_t Freshness::time_out_ns(std::size_t field) const {
  const State& state = fields_[field];
  return std::max(state.stated_ns > 0 ? least_ns : least_unstated_ns,
                  periods * std::max(state.stated_ns, state.observed_ns));
}

bool Freshness::stale(std::size_t field, std::int64_t now_ns) const {
  const State& state = fields_[field];
  return !state.seen || now_ns - state.last_ns > time_out_ns(field);
}

}  // namespace foundling
