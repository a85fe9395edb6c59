// What was known on the bench: a channel and its readings.
#pragma once

#include <cstdint>
#include <limits>
#include <string>
#include <vector>

namespace foundling {

enum class ChannelKind : std::uint8_t {
  hold,    // true until the next reading: a supply setting, a decade resistor, a switch
  sample,  // one moment of a moving quantity
};

struct Reading {
  std::int64_t t_ns = 0;  // on the session's time line, as frames
  double value = 0;       // in the channel's unit; for a state channel unused
  double uncertainty =
      std::numeric_limits<double>::quiet_NaN();  // standard, same unit; NaN unknown
  std::string state;  // the word of a state channel ("open", "1"); else empty
  // The earliest moment at which it may have become true, where that is known: when the person was
  // asked for it. What is typed is stamped when it has been typed, some seconds late.
  std::int64_t earliest_ns = no_time;
  std::int64_t id = 0;  // its row in the capture; 0 where there is none

  static constexpr std::int64_t no_time = std::numeric_limits<std::int64_t>::min();
};

struct Channel {
  std::string name;  // pack_current, cell_03, interlock
  std::string unit;  // as in schemas/values/unit.h; "state" marks a state channel
  ChannelKind kind = ChannelKind::hold;

  [[nodiscard]] bool is_state() const { return unit == "state"; }
};

// A channel with its readings of one session, in order of time. Superseded readings are not here.
struct ChannelSeries {
  Channel channel;
  std::vector<Reading> readings;
};

}  // namespace foundling
