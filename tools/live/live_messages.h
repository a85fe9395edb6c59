// What is published for a machine's eyes: JSON of one signal and of the sanity watch, the topics
// they go to, and the page of metrics. Pure; documented in README.md here.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "tools/live/live_values.h"

namespace foundling {

// PREFIX/signal/NAME, the name as topic_level.h writes it: two names never meet.
[[nodiscard]] std::string signal_topic(std::string_view prefix, std::string_view name);

// {"value":12.5,"unit":"A","ucum":"A","state":"good","status":"proposed","time":"2026-03-01T12:00:00.250Z"};
// the value is null unless the state is good, `status` is the map's. `utc_ns` is the value's own
// time; 0: unknown.
[[nodiscard]] std::string signal_json(const LiveValues& values, std::size_t i, Standing standing,
                                      std::int64_t utc_ns);
[[nodiscard]] std::string sanity_json(std::span<const SanityCheck> checks, std::int64_t utc_ns);

// OpenMetrics text, version 1.0.0. Only the chosen signals.
[[nodiscard]] std::string metrics_text(const LiveValues& values, const std::vector<bool>& chosen,
                                       std::int64_t now_ns);

}  // namespace foundling
