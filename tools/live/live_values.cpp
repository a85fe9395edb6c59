#include "tools/live/live_values.h"

namespace foundling {

std::string_view to_string(Standing standing) {
  switch (standing) {
    case Standing::never:
      return "never";
    case Standing::good:
      return "good";
    case Standing::reserved:
      return "reserved";
    case Standing::stale:
      break;
  }
  return "stale";
}

LiveValues::LiveValues(const SignalMap& map)
    : decoder_(map),
      fresh_(map, decoder_.fields()),
      watch_(map, decoder_.fields()),
      newest_(decoder_.fields().size()),
      counts_(decoder_.fields().size()) {}

void LiveValues::take(const Frame& frame) {
  ++frames_;
  last_frame_ns_ = frame.t_ns;
  const auto values = decoder_.decode(frame);
  watch_.see(frame, values);
  for (const DecodedValue& value : values) {
    newest_[value.field] = value;
    ++counts_[value.field];
    fresh_.see(value.field, value.t_ns);
  }
}

Standing LiveValues::standing(std::size_t i, std::int64_t now_ns) const {
  if (!fresh_.ever(i)) return Standing::never;
  if (fresh_.stale(i, now_ns)) return Standing::stale;
  return newest_[i].kind == ValueKind::reserved ? Standing::reserved : Standing::good;
}

}  // namespace foundling
