// How long a value counts. A value is stale when nothing came for five times its period, and at
// least for a second: a lost frame or two must not make it flicker, a silent board must show soon
// (common practice, no source). The period is what the map says of the message, times the pages
// that share it, or what the frames show where that is longer. Where the map says none, a value
// counts for at least ten seconds.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "schemas/signals/field.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

class Freshness {
 public:
  Freshness(const SignalMap& map, std::span<const Field> fields);

  // A value of the field at that time.
  void see(std::size_t field, std::int64_t t_ns);
  // The time line begins anew, as with another session: what came does not count any more.
  void restart();

  [[nodiscard]] bool ever(std::size_t field) const { return fields_[field].seen; }
  [[nodiscard]] std::int64_t last_ns(std::size_t field) const { return fields_[field].last_ns; }
  [[nodiscard]] std::int64_t time_out_ns(std::size_t field) const;
  // Nothing came yet, or not for longer than the time-out.
  [[nodiscard]] bool stale(std::size_t field, std::int64_t now_ns) const;

 private:
  struct State {
    std::int64_t stated_ns = 0;    // period by the map; 0: not said
    std::int64_t observed_ns = 0;  // running median of the times between values
    std::int64_t last_ns = 0;
    bool seen = false;
  };
  std::vector<State> fields_;
};

}  // namespace foundling
