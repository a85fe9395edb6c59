// What is to be stored of one bus: frames on the steady time line, error frames as events, and
// every loss as a gap. Pure but for the queue it fills; the listener tells it what it sees.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <tuple>
#include <vector>

#include "daemon/drop_counter.h"
#include "daemon/frame_source.h"
#include "daemon/hardware_time.h"
#include "daemon/record_queue.h"
#include "daemon/time_line.h"

namespace foundling {

class BusRecorder {
 public:
  // `line` and `queue` must outlive it.
  BusRecorder(std::uint8_t bus, const TimeLine& line, RecordQueue& queue);

  // Its drop counter starts at zero, its interface's at `interface_drops`.
  void new_source(std::uint64_t interface_drops = 0);
  // After the time line's look that followed the read.
  void arrived(std::span<const Arrival> arrivals);
  // The counter as it stands with nothing left to read: drops that no later frame has told of.
  void drops_so_far(std::uint32_t counter, std::int64_t now_ns);
  // Frames for which the kernel had no room before they reached any socket, since the interface was
  // made; as it was asked at the one time and known at the other.
  void interface_drops_so_far(std::uint64_t counter, std::int64_t asked_ns, std::int64_t now_ns);
  // The controller's state and counters; stored when they changed.
  void controller_is(const std::string& words, std::int64_t now_ns);
  void controller_restarted(std::int64_t now_ns);        // by us
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
    bool hardware_time = false;  // frames had stamps of the adapter's own clock
  };
  Tally take_tally();

 private:
  void note_drops(std::uint32_t counter, std::int64_t to_ns);
  void note_error(const Frame& frame);
  void note_further_error(const Frame& frame);
  void note_overrun(std::int64_t t_ns);
  void close_overrun(std::int64_t to_ns);
  void note_further_errors(std::int64_t now_ns);

  const std::uint8_t bus_;
  const TimeLine& line_;
  RecordQueue& queue_;
  DropCounter drops_;
  std::uint64_t interface_drops_ = 0;
  std::int64_t interface_asked_ns_ = 0;  // it was so at this time, or later
  HardwareTime hardware_time_;
  std::string controller_;
  std::int64_t error_second_ns_ = 0;  // a second of errors began here
  int errors_of_second_ = 0;
  // Too many to store each: by class bits, problem of the controller and kind of protocol error.
  using FurtherError = std::tuple<std::uint32_t, std::uint8_t, std::uint8_t>;
  std::map<FurtherError, std::uint64_t> further_errors_;
  std::int64_t last_ns_ = 0;  // of the last arrival
  std::optional<Gap> lost_link_;
  // The controller's buffer holds some twenty frames. It may tell that it overran after they are
  // read, or, of what it lost meanwhile, before; so what is missing lies between the frame that
  // many before and that many after, or one after a pause, in which all are read.
  static constexpr std::size_t controller_holds = 32;
  static constexpr std::int64_t pause_ns = 50'000'000;
  std::array<std::int64_t, controller_holds> recent_ns_{};  // a ring of the last frames' times
  std::size_t oldest_ = 0;
  std::optional<Gap> overrun_;
  std::size_t since_overrun_ = 0;  // frames
  std::vector<Frame> frames_;      // of one call, kept for its memory
  Tally tally_;
};

}  // namespace foundling
