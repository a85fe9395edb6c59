// What is to be stored of one bus: frames on the steady time line, error frames as events, and
// every loss as a gap. Pure but for the queue it fills; the listener tells it what it sees.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daemon/drop_counter.h"
#include "daemon/frame_source.h"
#include "daemon/record_queue.h"
#include "daemon/time_line.h"

namespace foundling {

class BusRecorder {
 public:
  // `line` and `queue` must outlive it.
  BusRecorder(std::uint8_t bus, const TimeLine& line, RecordQueue& queue);

  void new_source();  // its drop counter starts at zero
  // After the time line's look that followed the read.
  void arrived(std::span<const Arrival> arrivals);
  // The counter as it stands with nothing left to read: drops that no later frame has told of.
  void drops_so_far(std::uint32_t counter, std::int64_t now_ns);
  void link_lost(std::int64_t now_ns, std::string why);  // again while lost: ignored
  // More is known of why the link is lost: an interface goes down before it goes away.
  void link_lost_because(std::string why);
  void link_back(std::int64_t now_ns);  // not lost: ignored
  void stopped(std::int64_t now_ns);    // an open gap ends here

  [[nodiscard]] bool link_is_lost() const { return lost_link_.has_value(); }

  // What happened since the last call, for messages.
  struct Tally {
    std::uint64_t frames = 0;
    std::uint64_t dropped = 0;
    std::uint64_t errors = 0;
    std::string last_error;
  };
  Tally take_tally();

 private:
  void note_drops(std::uint32_t counter, std::int64_t to_ns);
  void note_error(const Frame& frame);

  const std::uint8_t bus_;
  const TimeLine& line_;
  RecordQueue& queue_;
  DropCounter drops_;
  std::int64_t last_ns_ = 0;  // of the last arrival
  std::optional<Gap> lost_link_;
  std::vector<Frame> frames_;  // of one call, kept for its memory
  Tally tally_;
};

}  // namespace foundling
